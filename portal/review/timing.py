"""The bench's marks and figures. Each view begins with who may see it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from functools import partial
from uuid import UUID

from django import forms
from django.http import HttpResponse, JsonResponse
from django.views.decorators.http import require_http_methods, require_POST

from portal.kit.declaring import asks
from portal.kit.limiting import MINUTE, at_most
from portal.people.access import Actor, must
from portal.people.http import Request
from portal.recordings.models import Clip
from portal.review import access, marking
from portal.review.forms import read_object
from portal.review.models import Mark


class NumberForm(forms.Form):
    number = forms.DecimalField(
        min_value=Decimal(0), max_value=Decimal(200), max_digits=4, decimal_places=1, required=False
    )
    lifted = forms.NullBooleanField(required=False)


class MarkForm(NumberForm):
    code = forms.UUIDField()
    kind = forms.ChoiceField(choices=Mark.Kind.choices)
    frame = forms.IntegerField(min_value=0, max_value=10**7)


@require_http_methods(["GET", "HEAD", "POST"])
@at_most(240, within=MINUTE, of="marks")
@asks(access.clip_for, Actor.works_with)
def marks(request: Request, code: UUID) -> HttpResponse:
    clip = access.clip_for(request.actor, code)
    if request.method != "POST":
        return _show(request, clip)
    must(request.actor.works_with(clip.recording.session.squad))
    form = MarkForm(read_object(request.body))
    if not form.is_valid():
        return _refuse(form)
    said = form.cleaned_data
    put = partial(marking.put, clip, by=request.user, at=request.now)
    chosen = {name: said[name] for name in ("code", "kind", "frame", "number")}
    return _keep(request, clip, partial(put, **chosen))


@require_POST
@at_most(240, within=MINUTE, of="marks")
@asks(access.mark_for, Actor.works_with)
def change_mark(request: Request, code: UUID) -> HttpResponse:
    mark = access.mark_for(request.actor, code)
    must(request.actor.works_with(mark.clip.recording.session.squad))
    form = NumberForm(read_object(request.body))
    if not form.is_valid():
        return _refuse(form)
    number, lifted = form.cleaned_data["number"], form.cleaned_data["lifted"]
    verb = partial(marking.change, mark, number=number, lifted=lifted, at=request.now)
    return _keep(request, mark.clip, verb)


def _keep(request: Request, clip: Clip, verb: Callable[[], Mark]) -> HttpResponse:
    try:
        verb()
    except marking.Refused as refused:
        return JsonResponse({"errors": {"mark": str(refused)}}, status=422)
    return _show(request, clip)


def _show(request: Request, clip: Clip) -> HttpResponse:
    copy = access.copy_to_watch(request.actor, clip)
    return JsonResponse(marking.as_json(clip, copy))


def _refuse(form: forms.Form) -> HttpResponse:
    errors = {name: " ".join(map(str, found)) for name, found in form.errors.items()}
    return JsonResponse({"errors": errors}, status=422)
