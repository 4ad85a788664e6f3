"""The weekly mail as the head coach sees it before the families do."""

from __future__ import annotations

from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from portal.digests import gathering, prefacing, writing
from portal.digests.forms import PrefaceForm
from portal.kit.declaring import asks
from portal.people.http import Request, page
from portal.people.reaching import headed_club_for


@require_http_methods(["GET", "HEAD", "POST"])
@asks(headed_club_for)
def weekly(request: Request, code: UUID) -> HttpResponse:
    """What each family would get now, one of them in full by `?of=`; the coach's own line, and
    whether it waits."""
    club = headed_club_for(request.actor, code)
    edition = prefacing.next_edition(club, at=request.now)
    preface = prefacing.preface_of(edition)
    form = PrefaceForm(request.POST if request.method == "POST" else None, preface=preface)
    if form.is_valid():
        typed = {name: form.cleaned_data[name] for name in ("opening", "why_held")}
        prefacing.keep(edition, **typed, by=request.user, at=request.now)
        messages.success(request, _("Kept."))
        return redirect("digests:weekly", code)
    found = gathering.gather(edition, at=request.now)
    asked = request.GET.get("of", "")
    chosen = next((each for each in found if str(each.recipient.code) == asked), None)
    chosen = chosen or next(iter(found), None)
    [shown] = prefacing.opened([edition]) or [edition]
    context = {
        "place": "club",
        "club": club,
        "edition": edition,
        "days": writing.days_in_words(*edition.days),
        "form": form,
        "is_held": bool(preface and preface.why_held),
        "families": found,
        "without": gathering.without_news(edition, found, at=request.now),
        "chosen": chosen,
        "mail": writing.preview(shown, chosen, at=request.now) if chosen else None,
    }
    return page(request, "digests/weekly.html", context, status=422 if form.is_bound else 200)
