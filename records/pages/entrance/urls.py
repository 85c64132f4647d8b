"""The paths of the entrance: those that are needed, under the names that the library asks for.

What is guessed at must stay counted whatever a view answers: these run outside of the request's
transaction, and the library opens its own where it changes several rows.
"""

from typing import Any

from django.db.transaction import non_atomic_requests
from django.urls import URLPattern, path, re_path

from records.pages.entrance import views


def _path(address: str, view: Any, name: str) -> URLPattern:
    counted: Any = non_atomic_requests(view.as_view())
    pattern: URLPattern = path(address, counted, name=name)
    return pattern


urlpatterns = [
    _path("sign-in", views.SignIn, "account_login"),
    _path("sign-in/code", views.SignInCode, "mfa_authenticate"),
    _path("sign-out", views.SignOut, "account_logout"),
    _path("confirm", views.Confirm, "account_reauthenticate"),
    _path("confirm/code", views.ConfirmCode, "mfa_reauthenticate"),
    _path("password", views.ChangePassword, "account_change_password"),
    _path("password/forgotten", views.Recover, "account_reset_password"),
    _path("password/forgotten/sent", views.RecoverSent, "account_reset_password_done"),
    _path("password/chosen", views.PasswordChosen, "account_reset_password_from_key_done"),
    re_path(
        r"^password/choose/(?P<uidb36>[0-9a-f]{32})-(?P<key>[0-9a-z-]{1,60})$",
        non_atomic_requests(views.ChoosePassword.as_view()),
        name="account_reset_password_from_key",
    ),
    _path("second-factor", views.Factors, "mfa_index"),
    _path("second-factor/app", views.SetUp, "mfa_activate_totp"),
    _path("second-factor/app/remove", views.Remove, "mfa_deactivate_totp"),
    _path("second-factor/recovery-codes", views.RecoveryCodes, "mfa_view_recovery_codes"),
    _path("second-factor/recovery-codes/new", views.NewRecoveryCodes,
          "mfa_generate_recovery_codes"),
]  # fmt: skip
