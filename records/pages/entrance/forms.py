"""The forms of the entrance: what is guessed in them is counted first."""

from typing import Any

from allauth.account import forms as account_forms
from allauth.account.adapter import get_adapter as get_entrance
from allauth.account.internal.flows import password_reset
from allauth.core import context
from allauth.mfa.base import forms as mfa_forms
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.totp.internal import auth as totp
from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from records.addresses import address_of
from records.errors import TooManyGuesses
from records.models import User
from records.services import guessing, second_factor
from records.services.links import Links
from records.services.sign_in import find

WRONG_CODE = "This code is not right, or it was used already. Wait for the next one."


class SignIn(account_forms.LoginForm):
    """User name or e-mail address, and password."""

    def user_credentials(self) -> dict[str, Any]:
        """Either name goes the same way: it is looked up once."""
        return {
            "username": self.cleaned_data["login"],
            "password": self.cleaned_data.get("password", ""),
        }


class ChangePassword(account_forms.ChangePasswordForm):
    """The present password, and the new one twice."""

    def clean_oldpassword(self) -> str:
        """A session that was left open is no way to guess it."""
        password = str(self.cleaned_data.get("oldpassword", ""))
        if not get_entrance().reauthenticate(self.user, password):
            raise ValidationError("This is not your present password.")
        return password


class Recover(account_forms.ResetPasswordForm):
    """The address that a link is mailed to."""

    def clean_email(self) -> str:
        """Whose it is comes to light in the mail alone."""
        return str(self.cleaned_data["email"])

    def save(self, request: HttpRequest, **kwargs: Any) -> str:
        """Mail a link; to an address that nobody here has, a word that it was asked for.

        One mail either way, so that neither the answer nor its time tells which it was.
        """
        email: str = self.cleaned_data["email"]
        users = [user for user in (find(email),) if user and user.email and user.is_active]
        if users:
            address = users[0].email
            password_reset.request_password_reset(request, address, users, Links())
        else:
            Links().make_token(User(email=email))  # takes as long as making one that is used
            get_entrance().send_mail("account/email/unknown_account", email, {})
        return email


def _count(user: User, request: HttpRequest) -> None:
    guessing.take(guessing.SECOND_FACTOR_BY_ADDRESS, guessing.source_of(address_of(request)))
    guessing.take(guessing.SECOND_FACTOR, user.pk)
    guessing.take(guessing.SECOND_FACTOR_DAILY, user.pk)


def _give_back(user: User, request: HttpRequest) -> None:
    guessing.give_back(guessing.SECOND_FACTOR_BY_ADDRESS, guessing.source_of(address_of(request)))
    guessing.give_back(guessing.SECOND_FACTOR, user.pk)
    guessing.give_back(guessing.SECOND_FACTOR_DAILY, user.pk)


def _use_up(user: User, code: str) -> None:
    """A code is good once; of two at the same moment one comes through."""
    try:
        guessing.take(guessing.SECOND_FACTOR_CODE, user.pk, "".join(code.split()))
    except TooManyGuesses:
        raise ValidationError(WRONG_CODE) from None


class _Code(mfa_forms.BaseAuthenticateForm):
    """A code of the authenticator app, or a recovery code."""

    def clean_code(self) -> str:
        """Counted, compared, used up."""
        _count(self.user, context.request)
        try:
            code: str = super().clean_code()
        except ValidationError:
            raise ValidationError(WRONG_CODE) from None
        _use_up(self.user, code)
        _give_back(self.user, context.request)
        return code


class SignInCode(_Code, mfa_forms.AuthenticateForm):
    """After the password."""


class ConfirmCode(_Code, mfa_forms.ReauthenticateForm):
    """To confirm who one is."""


class SetUp(ActivateTOTPForm):
    """The first code of an authenticator app. Until then its secret waits in the session,
    encrypted: sessions are kept in the database as well."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self.user = kwargs.pop("user")
        forms.Form.__init__(self, *args, **kwargs)
        session = context.request.session
        if not self.is_bound or totp.SECRET_SESSION_KEY not in session:
            session[totp.SECRET_SESSION_KEY] = second_factor.encrypt(totp.generate_totp_secret())
        self.secret = second_factor.decrypt(session[totp.SECRET_SESSION_KEY])

    def clean_code(self) -> str:
        """The app and the book agree."""
        code: str = self.cleaned_data["code"]
        if not totp.validate_totp_code(self.secret, code):
            raise ValidationError(
                "This is not the code that the app should show. Is the telephone's clock right?"
            )
        _use_up(self.user, code)
        return code
