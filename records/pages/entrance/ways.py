"""Where a page sends a person who has to show more, and from where they come back."""

from django.http import HttpResponseRedirect
from django.urls import reverse
from django.utils.http import urlencode

from records import permissions
from records.errors import ConfirmationNeeded, SecondFactorNeeded
from records.permissions import Actor


def to_confirm(page: str) -> HttpResponseRedirect:
    """To confirm who they are."""
    return HttpResponseRedirect(f"{reverse('account_reauthenticate')}?{urlencode({'next': page})}")


def to_second_factor(page: str) -> HttpResponseRedirect:
    """To show a second factor, or to set one up."""
    return HttpResponseRedirect(f"{reverse('mfa_index')}?{urlencode({'next': page})}")


def to_show_more(error: ConfirmationNeeded | SecondFactorNeeded, page: str) -> HttpResponseRedirect:
    """To whichever of the two is asked."""
    return (to_confirm if isinstance(error, ConfirmationNeeded) else to_second_factor)(page)


def where_to_show_more(actor: Actor, page: str) -> str:
    """Where somebody goes first, before what binds them; nowhere where all is shown."""
    try:
        permissions.require_presence(actor)
    except (ConfirmationNeeded, SecondFactorNeeded) as error:
        return to_show_more(error, page).url
    return ""
