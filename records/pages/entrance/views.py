"""The pages of the entrance: the library's views with the book's own words, limits and look."""

from typing import Any
from uuid import UUID

from allauth.account import views as account
from allauth.account.internal.flows.login import record_authentication
from allauth.account.utils import get_next_redirect_url
from allauth.mfa.base import views as mfa
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes import views as recovery_codes
from allauth.mfa.totp import views as totp
from allauth.mfa.utils import is_mfa_enabled
from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.utils.http import urlencode
from django.views.decorators.cache import never_cache

from records import permissions
from records.addresses import address_of
from records.errors import TooManyGuesses
from records.models import User
from records.pages.entrance.adapters import KNOWN_BROWSER
from records.pages.errors import too_many
from records.presence import SECOND_FACTOR, forget_second_factor, presence_of
from records.services import guessing
from records.services.sign_in import KNOWN_FOR, mark_of
from records.services.tokens import actor_of_person

AFTERWARDS = "second_factor_afterwards"  # where the session goes on once it is set up


@method_decorator(never_cache, name="dispatch")
class Entrance:
    """What every page of the entrance shares: its look, its refusals, its memory of browsers."""

    request: HttpRequest

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Tell in words where somebody tried too often."""
        nobody = request.user.is_anonymous
        try:
            answer: HttpResponse = super().dispatch(request, *args, **kwargs)  # type: ignore[misc]
            if hasattr(answer, "render"):
                answer = answer.render()
        except TooManyGuesses as error:
            return too_many(request, error)
        if nobody and isinstance(request.user, User):
            _remember_browser(answer, request.user)
        return answer

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Besides what the form needs: who is signed in."""
        context: dict[str, Any] = super().get_context_data(**kwargs)  # type: ignore[misc]
        actor = _actor(self.request)
        mailed = settings.EMAIL_BACKEND != settings.NO_MAIL
        return context | {"actor": actor, "may": permissions.allowed(actor), "mailed": mailed}


def _remember_browser(answer: HttpResponse, user: User) -> None:
    answer.set_cookie(
        KNOWN_BROWSER, mark_of(user), max_age=KNOWN_FOR,
        httponly=True, secure=settings.SESSION_COOKIE_SECURE, samesite="Lax",
    )  # fmt: skip


def _actor(request: HttpRequest) -> permissions.Actor | None:
    if request.user.is_anonymous:
        return None
    return actor_of_person(UUID(str(request.user.pk)), presence=presence_of(request))


class SignIn(Entrance, account.LoginView):
    """User name or e-mail address, and password."""

    template_name = "pages/entrance/sign_in.html"


class SignInCode(Entrance, mfa.AuthenticateView):
    """The second factor, after the password."""

    template_name = "pages/entrance/sign_in_code.html"


class SignOut(Entrance, account.LogoutView):
    """By its button alone."""

    http_method_names = ["post"]

    def post(self, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Going back shows nothing of before to whoever sits there next."""
        answer: HttpResponseBase = super().post(*args, **kwargs)
        answer["Clear-Site-Data"] = '"cache"'
        return answer


class Confirm(Entrance, account.ReauthenticateView):
    """Who is there, by the password."""

    template_name = "pages/entrance/confirm.html"


class ConfirmCode(Entrance, mfa.ReauthenticateView):
    """Who is there, by the second factor."""

    template_name = "pages/entrance/confirm_code.html"


class Recover(Entrance, account.PasswordResetView):
    """Where a forgotten password begins."""

    template_name = "pages/entrance/recover.html"

    def form_valid(self, form: Any) -> HttpResponse:
        """Counted by address and by the address that is asked for, known or not."""
        guessing.take(guessing.RESET_BY_ADDRESS, guessing.source_of(address_of(self.request)))
        guessing.take(guessing.RESET_BY_ACCOUNT, form.cleaned_data["email"].strip().lower())
        answer: HttpResponse = super().form_valid(form)
        return answer


class RecoverSent(Entrance, account.PasswordResetDoneView):
    """Says the same, whoever asked."""

    template_name = "pages/entrance/recover_sent.html"


class ChoosePassword(Entrance, account.PasswordResetFromKeyView):
    """Where the link of a mail or of an invitation leads."""

    template_name = "pages/entrance/choose_password.html"

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Links are tried from anywhere."""
        try:
            guessing.take(guessing.LINK_BY_ADDRESS, guessing.source_of(address_of(request)))
        except TooManyGuesses as error:
            return too_many(request, error)
        return super().dispatch(request, *args, **kwargs)

    def render_to_response(self, context: dict[str, Any], **kwargs: Any) -> HttpResponse:
        """A link that is no longer good is not there."""
        if context.get("token_fail"):
            kwargs["status"] = 404
        answer: HttpResponse = super().render_to_response(context, **kwargs)
        return answer


class PasswordChosen(Entrance, account.PasswordResetFromKeyDoneView):
    """From here to sign-in."""

    template_name = "pages/entrance/password_chosen.html"


class ChangePassword(Entrance, account.PasswordChangeView):
    """Ends every other session of the person."""

    template_name = "pages/entrance/change_password.html"

    def get_default_success_url(self) -> str:
        """Say that it is done."""
        return reverse("account_change_password") + "?changed=1"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Whether it was done a moment ago."""
        return super().get_context_data(**kwargs) | {"changed": "changed" in self.request.GET}


class Factors(Entrance, mfa.IndexView):
    """The second factor of whoever is signed in; the place where one that is needed is led to."""

    template_name = "pages/entrance/factors.html"

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Whoever has one and has not shown it confirms by it; others see what they can do."""
        afterwards = get_next_redirect_url(request)
        if afterwards:
            request.session[AFTERWARDS] = afterwards
        shown = presence_of(request).second_factor
        if afterwards and not shown and is_mfa_enabled(request.user, [Authenticator.Type.TOTP]):
            query = urlencode({"next": afterwards})
            return redirect(f"{reverse('mfa_reauthenticate')}?{query}")
        answer: HttpResponse = super().get(request, *args, **kwargs)
        return answer

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """What is asked of this person."""
        context = super().get_context_data(**kwargs)
        context["required"] = permissions.lacks_second_factor(context["actor"])
        return context | _afterwards(self.request)


def _afterwards(request: HttpRequest) -> dict[str, Any]:
    return {"afterwards": request.session.get(AFTERWARDS) or reverse("stations")}


@method_decorator(login_required, name="dispatch")
class SetUp(Entrance, totp.ActivateTOTPView):
    """An authenticator app: a secret as picture and text, and its first code."""

    template_name = "pages/entrance/set_up.html"

    def form_valid(self, form: Any) -> HttpResponse:
        """The code was the second factor of this session, too."""
        try:
            answer: HttpResponse = super().form_valid(form)
        except IntegrityError:  # twice at the same moment
            return redirect("mfa_index")
        record_authentication(self.request, self.request.user, SECOND_FACTOR, type="totp")
        self.request.session.cycle_key()
        return answer


class Remove(Entrance, totp.DeactivateTOTPView):
    """Taking it away: for another telephone."""

    template_name = "pages/entrance/remove.html"

    def form_valid(self, form: Any) -> HttpResponse:
        """What needs a second factor is closed to this session until there is one again."""
        answer: HttpResponse = super().form_valid(form)
        forget_second_factor(self.request)
        return answer


class RecoveryCodes(Entrance, recovery_codes.ViewRecoveryCodesView):
    """Shown once."""

    template_name = "pages/entrance/recovery_codes.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """And where to go on."""
        return super().get_context_data(**kwargs) | _afterwards(self.request)


@method_decorator(login_required, name="dispatch")
class NewRecoveryCodes(Entrance, recovery_codes.GenerateRecoveryCodesView):
    """In place of those that were lost or used."""

    template_name = "pages/entrance/new_recovery_codes.html"
