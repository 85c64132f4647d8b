"""Signing in and out: by either name, without telling who exists, with sessions that end."""

import pytest
from django.contrib.auth.hashers import MD5PasswordHasher
from django.core import mail

from records.models import User
from tests.records.pages.entrance.walking import PASSWORD, Walker
from tests.records.sessions import sign_in

REFUSED = "Name and password do not belong together."


@pytest.mark.parametrize("name", ["cleo", "CLEO", " cleo ", "cleo@people.example",
                                  "Cleo@People.Example"])  # fmt: skip
def test_either_name_lets_in_whatever_its_letters(browser, name):
    assert browser.sign_in(name).status == 302
    assert browser.at == "/"
    assert "Cleo, Tresk Water District (client)" in browser.get("/").words


def test_after_signing_in_one_is_where_one_wanted_to_go(browser, station):
    where = f"/stations/{station.site}"
    browser.post(f"/sign-in?next={where}", login="cleo", password=PASSWORD, next=where)
    assert browser.at == where


@pytest.mark.parametrize("where", ["https://elsewhere.example/", "//elsewhere.example", "\\\\x"])
def test_nobody_is_sent_elsewhere(browser, where):
    browser.post("/sign-in", login="cleo", password=PASSWORD, next=where)
    assert browser.at == "/"


@pytest.fixture
def inactive(stage, cast):
    """Cato may not come in, though the password is right; done before the test's transaction."""
    with stage.as_owner() as owner:
        owner.execute("UPDATE records_user SET is_active = false WHERE id = %s", [cast.cato.id])
    yield "cato"
    with stage.as_owner() as owner:
        owner.execute("UPDATE records_user SET is_active = true")


@pytest.mark.parametrize(
    ("name", "password"),
    [("cleo", "wrong"), ("nobody", PASSWORD), ("cleo@people.example", "wrong"),
     ("nobody@people.example", PASSWORD), ("cato", PASSWORD)],
)  # fmt: skip
def test_every_refusal_is_the_same_and_costs_one_comparison(
    inactive, browser, monkeypatch, name, password
):
    """A known name, an unknown one, and one that may not come in cannot be told apart."""
    compared = []
    encode = MD5PasswordHasher.encode

    def counted(self, *args, **kwargs):
        compared.append(args)
        return encode(self, *args, **kwargs)

    monkeypatch.setattr(MD5PasswordHasher, "encode", counted)
    page = browser.sign_in(name, password)
    assert page.status == 200
    assert page.faults == []
    shown = page.words.replace(name, "")
    assert REFUSED in shown
    assert len(compared) == 1
    assert browser.get("/").status == 302
    token = '<input type="hidden" name="csrfmiddlewaretoken" value="'
    head, _, rest = page.html.partition(token)
    here = head + rest.partition('"')[2].replace(f'value="{name}"', 'value=""')
    assert here == reference(browser)


def reference(browser):
    token = '<input type="hidden" name="csrfmiddlewaretoken" value="'
    html = browser.sign_in("zoe", "whatever").html
    head, _, rest = html.partition(token)
    return head + rest.partition('"')[2].replace('value="zoe"', 'value=""')


@pytest.mark.parametrize("name", ["cleo\0", "\0", "x" * 5000, "ſ", "\u202ecleo"])
def test_odd_names_are_refused_like_any(browser, name):
    page = browser.sign_in(name)
    assert page.status == 200
    assert page.faults == []


def test_the_session_is_another_after_signing_in(browser):
    browser.get("/sign-in")
    session = browser.client.session
    session["planted"] = "x"
    session.save()
    browser.client.cookies["sessionid"] = session.session_key
    browser.sign_in("cleo")
    assert browser.client.cookies["sessionid"].value != session.session_key
    assert not type(session)(session.session_key).exists(session.session_key)


def test_cookies_are_for_this_site_alone(browser, settings):
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    browser.sign_in("cleo")
    for name in ("sessionid", "known_browser"):
        cookie = browser.answer.cookies[name]
        assert (cookie["secure"], cookie["httponly"], cookie["samesite"]) == (True, True, "Lax")


def test_signing_out_ends_the_session_and_takes_a_button(browser):
    browser.sign_in("cleo")
    assert browser.get("/sign-out").status == 405
    assert browser.get("/").status == 200
    browser.post("/sign-out")
    assert browser.at == "/sign-in"
    assert browser.answer.headers["Clear-Site-Data"] == '"cache"'
    assert browser.get("/").status == 302


def test_another_password_ends_every_other_session(browser, entrance):
    elsewhere = Walker()
    elsewhere.sign_in("cleo")
    browser.sign_in("cleo")
    new = {"password1": "seven grey herons", "password2": "seven grey herons"}
    page = browser.post("/password", oldpassword=PASSWORD, **new)
    assert browser.at == "/password?changed=1"
    assert "Every other browser" in browser.get(browser.at).words
    assert elsewhere.get("/").status == 302
    assert browser.get("/").status == 200
    assert Walker().sign_in("cleo").status == 200
    assert Walker().sign_in("cleo", "seven grey herons").status == 302
    assert page.status == 302
    assert [each.subject for each in mail.outbox] == ["Stationbook: your password was changed"]
    assert "seven grey herons" not in mail.outbox[0].body


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"oldpassword": "wrong"}, "This is not your present password."),
        ({"password1": "short", "password2": "short"}, "at least 12 characters"),
        ({"password2": "seven grey heron"}, "same password"),
        ({"password1": "telechargement", "password2": "telechargement"}, "too common"),
    ],
    ids=str,
)
def test_a_password_that_will_not_do_is_told(browser, given, words):
    browser.sign_in("cleo")
    good = {"oldpassword": PASSWORD, "password1": "seven grey herons",
            "password2": "seven grey herons"}  # fmt: skip
    page = browser.post("/password", **good | given)
    assert page.status == 200
    assert words in page.words
    assert page.faults == []


def test_whoever_is_let_go_is_refused_at_the_next_request(browser, stage, entrance, api):
    browser.sign_in("cleo")
    assert browser.get("/").status == 200
    assert api(entrance.cleo).get("/me").status == 200
    with stage.as_owner() as owner:
        owner.execute(
            "UPDATE records_membership SET ended_at = now() WHERE user_id = %s", [entrance.cleo.id]
        )
    try:
        refused = browser.get("/")
        assert refused.status == 403
        assert "You belong to no organization" in refused.words
        assert "Sign out" in refused.words
        assert browser.get("/api/v1/me").status == 401
        assert api(entrance.cleo).get("/me").status == 401
    finally:
        with stage.as_owner() as owner:
            owner.execute("UPDATE records_membership SET ended_at = NULL")


def test_nobody_registers_and_nothing_else_of_the_library_is_there(browser):
    browser.sign_in("cleo")
    for path in ("signup", "accounts/signup/", "email", "accounts/email/", "login", "inactive",
                 "password/set", "sign-in/code/confirm", "second-factor/webauthn", "social",
                 "second-factor/recovery-codes/download", "confirm-email"):  # fmt: skip
        assert browser.get(f"/{path}").status == 404, path


def test_a_password_is_kept_as_a_slow_hash(cast, db):
    user = User.objects.get(pk=cast.cleo.id)
    assert user.password.startswith("pbkdf2_sha256$")


def test_the_sessions_of_other_tests_are_like_real_ones(browser, entrance):
    """What `sign_in` of the tests puts into a session is what signing in puts there."""
    browser.sign_in("cleo")
    real = dict(browser.client.session.items())
    other = Walker()
    sign_in(other.client, entrance.cleo, "password")
    helped = dict(other.client.session.items())
    assert set(helped) <= set(real)
    assert helped["account_authentication_methods"][0].keys() <= (
        real["account_authentication_methods"][0].keys()
    )
    assert (
        helped["account_authentication_methods_user"]
        == (real["account_authentication_methods_user"])
    )
