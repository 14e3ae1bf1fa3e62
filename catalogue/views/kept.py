"""What somebody wrote before signing in is kept in the session, and is there again afterwards."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.urls import reverse


def keep_and_sign_in(request: HttpRequest, form: str, data: QueryDict) -> HttpResponse:
    """Keep what was filled in and ask for the account; signing in leads back to this page."""
    lists = dict(data.lists())
    lists.pop("csrfmiddlewaretoken", None)
    request.session[_key(form)] = lists
    messages.info(request, "What you wrote is kept, and is there again when you have signed in.")
    return HttpResponseRedirect(f"{reverse('sign-in')}?{urlencode({'next': request.path})}")


def kept(request: HttpRequest, form: str) -> QueryDict | None:
    """What was kept of a form, or None."""
    lists = request.session.get(_key(form))
    if lists is None:
        return None
    data = QueryDict(mutable=True)
    for name, values in lists.items():
        data.setlist(name, values)
    return data


def forget(request: HttpRequest, form: str) -> None:
    request.session.pop(_key(form), None)


def _key(form: str) -> str:
    return f"kept {form}"
