"""Where the library of the entrance asks the book: limits, addresses, mail, secrets, words."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.mfa.adapter import DefaultMFAAdapter
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from records.addresses import address_of
from records.models import User
from records.permissions import is_recent
from records.presence import presence_of
from records.services import guessing, mails, second_factor
from records.services.sign_in import Attempt

KNOWN_BROWSER = "known_browser"  # the cookie with the mark of an earlier sign-in


class Entrance(DefaultAccountAdapter):
    """Accounts."""

    def authenticate(self, request: HttpRequest, **credentials: Any) -> Any:
        """The person; counted before it is looked at, and uncounted where it was right."""
        name = str(credentials.get("username") or credentials.get("email") or "")
        mark = request.COOKIES.get(KNOWN_BROWSER, "")
        attempt = Attempt.of(name, address_of(request), mark)
        attempt.take()
        user = super().authenticate(request, username=name, password=credentials["password"])
        if user is not None:
            attempt.give_back()
        return user

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:
        """Counted already."""

    def is_ajax(self, request: HttpRequest) -> bool:
        """Every answer is a page."""
        return False

    def get_reset_password_from_key_url(self, key: str) -> str:
        """Where a link leads, on the host that was asked."""
        identity, _, token = key.partition("-")
        names = {"uidb36": identity, "key": token}
        path = reverse("account_reset_password_from_key", kwargs=names)
        return str(self.request.build_absolute_uri(path))

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """People are invited."""
        return False

    def is_reauthentication_required(self, *, app: str, **kwargs: Any) -> bool:
        """Signing in is confirming, too, for as long as confirming lasts."""
        return not is_recent(presence_of(self.request))

    def set_password(self, user: User, password: str) -> None:
        """The log-in role may write no other column of a person."""
        user.set_password(password)
        user.save(update_fields=["password"])

    def respond_user_inactive(self, request: HttpRequest, user: User) -> HttpResponse:
        """Like anybody who may not come in."""
        return redirect("account_login")

    def add_message(self, *args: Any, **kwargs: Any) -> None:
        """Pages say themselves what was done."""

    def get_client_ip(self, request: HttpRequest) -> str:
        """As guesses are counted."""
        return guessing.source_of(address_of(request))

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """As the book mails."""
        mails.send(template_prefix, email, context)


class SecondFactor(DefaultMFAAdapter):
    """Second factors."""

    def encrypt(self, text: str) -> str:
        """Before it is kept."""
        return second_factor.encrypt(text)

    def decrypt(self, encrypted_text: str) -> str:
        """What was kept."""
        return second_factor.decrypt(encrypted_text)

    def get_totp_label(self, user: User) -> str:
        """What an authenticator app calls the account."""
        return str(user.get_username())
