"""The field sheet: an app for a telephone that needs no signal on site."""
