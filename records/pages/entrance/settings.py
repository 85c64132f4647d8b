"""What the entrance asks of the library that it is built on; deploy/settings.py takes it over.

Nobody registers: people are invited. Its own limits on guessing are off: they count in the cache,
which guards nothing here, and records/services/guessing.py counts in their place.
"""

from typing import Any

_HERE = "records.pages.entrance"

ENTRANCE: dict[str, Any] = {
    "ACCOUNT_ADAPTER": f"{_HERE}.adapters.Entrance",
    "ACCOUNT_LOGIN_METHODS": {"username", "email"},
    "ACCOUNT_SIGNUP_FIELDS": ["email*", "username*", "password1*"],
    "ACCOUNT_EMAIL_VERIFICATION": "none",  # an address is the office's word for its own people
    "ACCOUNT_EMAIL_NOTIFICATIONS": True,
    "ACCOUNT_EMAIL_SUBJECT_PREFIX": "",
    "ACCOUNT_LOGOUT_ON_PASSWORD_CHANGE": False,  # this session goes on; every other one ends
    "ACCOUNT_PASSWORD_RESET_TOKEN_GENERATOR": "records.services.links.Links",
    "ACCOUNT_RATE_LIMITS": False,
    "ACCOUNT_SESSION_REMEMBER": True,
    "ACCOUNT_FORMS": {
        "login": f"{_HERE}.forms.SignIn",
        "change_password": f"{_HERE}.forms.ChangePassword",
        "reset_password": f"{_HERE}.forms.Recover",
    },
    "MFA_ADAPTER": f"{_HERE}.adapters.SecondFactor",
    "MFA_ALLOW_UNVERIFIED_EMAIL": True,
    "MFA_FORMS": {
        "authenticate": f"{_HERE}.forms.SignInCode",
        "reauthenticate": f"{_HERE}.forms.ConfirmCode",
        "activate_totp": f"{_HERE}.forms.SetUp",
    },
    "MFA_RATE_LIMITS": False,
    "MFA_RECOVERY_CODES_SHOW_ONCE": True,
    "MFA_RECOVERY_CODE_DIGITS": 10,
    "MFA_SUPPORTED_TYPES": ["totp", "recovery_codes"],
    "MFA_TOTP_ISSUER": "Stationbook",
    "MFA_TOTP_TOLERANCE": 1,  # clocks of telephones: 30 s either way
}
