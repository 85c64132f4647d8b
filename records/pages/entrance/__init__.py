"""How people come in: sign-in, second factor, confirming, recovering access."""
