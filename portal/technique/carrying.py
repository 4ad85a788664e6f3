"""The pages on which a club takes its words along and brings them."""

from __future__ import annotations

from collections import Counter

from django.contrib import messages
from django.core.files.uploadhandler import MemoryFileUploadHandler
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_POST, require_safe

from portal.kit.declaring import asks
from portal.kit.limiting import HOUR, at_most
from portal.people.http import Request
from portal.people.models import Club
from portal.technique import leaving, lexicon, skos
from portal.technique.access import club_to_change
from portal.technique.lexicon import Unreadable
from portal.technique.owning import By, Refused

KINDS = {"toml": "application/toml", "csv": "text/csv; charset=utf-8", "ttl": "text/turtle"}
LARGEST = 1_000_000
# What a form adds around its file.
FORM_BYTES = 10_000
TOO_LARGE = gettext_lazy("Choose a file of one megabyte at most.")


@require_safe
@at_most(60, within=HOUR, of="words taken along", methods=frozenset({"GET"}))
@asks(club_to_change)
def take(request: Request, kind: str) -> HttpResponse:
    """TOML and CSV can be brought again; Turtle is for other programs."""
    club = club_to_change(request.actor, request.GET.get("club", ""))
    if kind not in KINDS:
        raise Http404
    words = leaving.gather(club)
    if kind == "ttl":
        base = request.build_absolute_uri(reverse("technique:strokes"))
        said = skos.as_turtle(words, base=base, title=club.name)
    else:
        said = lexicon.as_toml(words) if kind == "toml" else lexicon.as_csv(words)
    answer = HttpResponse(said, content_type=KINDS[kind])
    answer.headers["Content-Disposition"] = f'attachment; filename="technique.{kind}"'
    return answer


@require_POST
@csrf_exempt
@at_most(20, within=HOUR, of="words brought")
@asks(club_to_change)
def bring(request: Request) -> HttpResponse:
    """The check against forgery reads the whole of a form first: `_take_in` makes it, once we
    know who sends how much."""
    club = club_to_change(request.actor, request.GET.get("club", ""))
    length = request.META.get("CONTENT_LENGTH") or ""
    if not length.isdecimal() or int(length) > LARGEST + FORM_BYTES:
        _refuse(request, TOO_LARGE)
        return redirect(_address(club))
    request.upload_handlers = [MemoryFileUploadHandler(request)]
    return _take_in(request, club)


@csrf_protect
def _take_in(request: Request, club: Club) -> HttpResponse:
    try:
        counts = leaving.take_in(club, _read(request), by=By(request.user, request.now))
    except (Unreadable, Refused) as error:
        _refuse(request, error)
    else:
        messages.success(request, _said(counts))
    return redirect(_address(club))


def _read(request: Request) -> lexicon.Lexicon:
    sent = request.FILES.get("words")
    if sent is None:
        raise Unreadable(TOO_LARGE)
    try:
        text = sent.read().decode("utf-8")
    except UnicodeDecodeError as error:
        raise Unreadable(_("The file has to be UTF-8 text.")) from error
    is_toml = (sent.name or "").lower().endswith(".toml")
    return lexicon.from_toml(text) if is_toml else lexicon.from_csv(text)


def _refuse(request: Request, why: object) -> None:
    messages.error(request, _("Nothing was taken in. %(why)s") % {"why": why})


def _address(club: Club) -> str:
    return f"{reverse('technique:own')}?{urlencode({'club': str(club.code)})}"


def _said(counts: Counter[str]) -> str:
    changed = counts["added"] + counts["changed"] + counts["reworded"]
    if not changed:
        return _("Nothing in the file is new.")
    return ngettext("One word was taken in.", "%(count)s words were taken in.", changed) % {
        "count": changed
    }
