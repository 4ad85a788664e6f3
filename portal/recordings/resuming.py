"""Uploads that go on where they broke off: tus 1.0 with creation, creation-with-upload,
checksum, expiration and termination. Each begins with who may send film.

Nothing here may touch `request.body`, which would hold the film in memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial, wraps
from http import HTTPStatus
from uuid import UUID

from django.conf import settings
from django.http import Http404, HttpResponse, HttpResponseBase, JsonResponse, UnreadablePostError
from django.urls import reverse
from django.utils.http import http_date
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from portal.kit.declaring import asks
from portal.kit.knocking import BLOCK, for_programs
from portal.kit.limiting import HOUR, at_most
from portal.people.access import Actor, must
from portal.people.http import Request
from portal.recordings import describing, parting, receiving, uploading
from portal.recordings.access import arrival_for, session_for
from portal.recordings.models import Arrival, Session

VERSION = "1.0.0"
ALWAYS = {"Tus-Resumable": VERSION, "Cache-Control": "private, no-store"}
EXTENSIONS = "creation,creation-with-upload,checksum,expiration,termination"
PIECE = "application/offset+octet-stream"
# What comes with a checksum is stored twice before it is added, and so has a limit.
CHECKED_BYTES = 16 * 1024 * 1024
OVERRIDES = {"PATCH", "DELETE"}
# The protocol's own word for bytes that are not those of the checksum.
CHECKSUM_MISMATCH = 460
REFUSALS = {uploading.TooLarge: 413, uploading.Full: 507}


class Stopped(Exception):
    """What the answer says instead; the message is for whoever writes the program."""

    def __init__(self, status: int, problem: str) -> None:
        super().__init__(problem)
        self.status = status


View = Callable[[Request, UUID], HttpResponseBase]
PROBLEMS = (
    *(Stopped, Http404, UnreadablePostError, parting.Gone, parting.Overtaken),
    *(describing.Unclear, receiving.Mismatch, uploading.Refused),
)


def in_their_words(view: View) -> View:
    """Whatever stops an upload, as the protocol's number and a sentence."""

    @wraps(view)
    def answer(request: Request, code: UUID) -> HttpResponseBase:
        try:
            return view(request, code)
        except PROBLEMS as problem:
            return _told(problem)

    return answer


def _told(problem: Exception) -> HttpResponse:
    status, said = _status_and_words(problem)
    answer = JsonResponse({"problem": said}, status=status)
    if status == HTTPStatus.PRECONDITION_FAILED:
        answer.headers["Tus-Version"] = VERSION
    return answer


def _status_and_words(problem: Exception) -> tuple[int, str]:
    match problem:
        case Stopped():
            return problem.status, str(problem)
        case uploading.Refused():
            return REFUSALS.get(type(problem), 422), str(problem)
        case parting.Overtaken():
            return 409, _("The film is not at this byte. Ask where it is, then go on.")
        case receiving.Mismatch():
            return CHECKSUM_MISMATCH, _("These bytes were changed on the way.")
        case describing.Unclear():
            return 400, str(problem)
        case UnreadablePostError():
            return 400, _("The line broke before the whole film was here.")
        case _:
            return 404, _("There is no such upload.")


@require_http_methods(["OPTIONS", "POST"])
@for_programs(ALWAYS)
@at_most(240, within=HOUR, of="arrivals")
@in_their_words
@asks(session_for, Actor.works_with)
def announce(request: Request, code: UUID) -> HttpResponseBase:
    session = session_for(request.actor, code)
    must(request.actor.works_with(session.squad))
    if request.method == "OPTIONS":
        return _abilities()
    _must_speak_our_version(request)
    arrival, is_new = _begin(request, session)
    answer = HttpResponse(status=201)
    answer.headers["Location"] = reverse("recordings:arrival", args=[arrival.code])
    if not is_new:
        return _end(request, arrival, answer)
    try:
        return _take(request, arrival, offset=0, answer=answer)
    except PROBLEMS:
        # Its sender never heard where it is.
        receiving.drop(arrival)
        raise


@require_http_methods(["OPTIONS", "HEAD", "PATCH", "DELETE", "POST"])
@for_programs(ALWAYS)
@in_their_words
@asks(arrival_for, Actor.works_with)
def arrival(request: Request, code: UUID) -> HttpResponseBase:
    if request.method == "OPTIONS":
        return _abilities()
    arrival = arrival_for(request.actor, code)
    must(request.actor.works_with(arrival.session.squad))
    _must_speak_our_version(request)
    if arrival.expires_at <= request.now:
        raise Stopped(410, _("This upload was left for too long. Send the film anew."))
    return ACTS[_method(request)](request, arrival)


def _abilities() -> HttpResponse:
    answer = HttpResponse(status=204)
    answer.headers["Tus-Version"] = VERSION
    answer.headers["Tus-Extension"] = EXTENSIONS
    answer.headers["Tus-Max-Size"] = str(settings.RECORDING_MAX_BYTES)
    answer.headers["Tus-Checksum-Algorithm"] = ",".join(describing.ALGORITHMS)
    return answer


def _must_speak_our_version(request: Request) -> None:
    said = request.headers.get("Tus-Resumable")
    if said != VERSION:
        raise Stopped(412, f"Tus-Resumable is {said!r}. Use {VERSION}.")


def _method(request: Request) -> str:
    """Some ways through the net let only GET and POST pass."""
    method = request.method or ""
    if method == "POST":
        method = request.headers.get("X-HTTP-Method-Override", "").upper()
        if method not in OVERRIDES:
            raise Stopped(405, f"POST stands here only for {' or '.join(sorted(OVERRIDES))}.")
    return method


def _begin(request: Request, session: Session) -> tuple[Arrival, bool]:
    """Row and part file, unless something is wrong with what comes; False: of an upload that
    broke off, which its sender may have lost sight of."""
    if _body_length(request) and request.content_type != PIECE:
        raise Stopped(415, f"A film comes as {PIECE}.")
    said = request.headers.get("Upload-Metadata", "")
    length = describing.count(request.headers.get("Upload-Length"), name="Upload-Length")
    words = describing.words(said)
    film = receiving.Announced(
        name=words.get("filename", ""),
        kind=words.get("filetype", ""),
        length=length,
        said=said,
        fingerprint=words.get("fingerprint", "")[: uploading.FINGERPRINT_LENGTH],
        not_to_be_shown="not-to-be-shown" in words,
    )
    if not _body_length(request):
        same = receiving.broken_off(session, film, by=request.user, at=request.now)
        if same:
            return same, False
    return receiving.begin(session, film, by=request.user, at=request.now), True


def _head(request: Request, arrival: Arrival) -> HttpResponse:
    answer = HttpResponse(status=200)
    answer.headers["Upload-Length"] = str(arrival.length)
    if arrival.said:
        answer.headers["Upload-Metadata"] = arrival.said
    return _end(request, arrival, answer)


def _patch(request: Request, arrival: Arrival) -> HttpResponse:
    if request.content_type != PIECE:
        raise Stopped(415, f"A film comes as {PIECE}.")
    offset = describing.count(request.headers.get("Upload-Offset"), name="Upload-Offset")
    return _take(request, arrival, offset=offset, answer=HttpResponse(status=204))


def _delete(_request: Request, arrival: Arrival) -> HttpResponse:
    receiving.drop(arrival)
    return HttpResponse(status=204)


ACTS: dict[str, Callable[[Request, Arrival], HttpResponse]] = {
    "HEAD": _head,
    "PATCH": _patch,
    "DELETE": _delete,
}


def _take(request: Request, arrival: Arrival, *, offset: int, answer: HttpResponse) -> HttpResponse:
    """Add the body; what came through before a line broke stays, whatever was announced."""
    if offset != receiving.offset(arrival):
        raise parting.Overtaken
    if offset + _body_length(request) > arrival.length:
        raise Stopped(413, _("That is more than was announced."))
    added = receiving.add(arrival, _blocks(request), offset=offset)
    if offset < uploading.HEAD_BYTES <= added:
        receiving.must_be_a_film(arrival)
    return _end(request, arrival, answer)


def _blocks(request: Request) -> Iterator[bytes]:
    blocks = iter(partial(request.read, BLOCK), b"")
    said = request.headers.get("Upload-Checksum")
    if said is None:
        return blocks
    made_by, wanted = describing.checksum(said)
    if _body_length(request) > CHECKED_BYTES:
        raise Stopped(413, f"With a checksum at most {CHECKED_BYTES} bytes come at once.")
    return receiving.checked(blocks, made_by=made_by, wanted=wanted)


def _end(request: Request, arrival: Arrival, answer: HttpResponse) -> HttpResponse:
    """How far the film is; a whole one becomes a recording before this is said."""
    answer.headers["Upload-Offset"] = str(receiving.offset(arrival))
    answer.headers["Upload-Expires"] = http_date(arrival.expires_at.timestamp())
    receiving.finish(arrival, at=request.now)
    return answer


def _body_length(request: Request) -> int:
    said = request.META.get("CONTENT_LENGTH") or ""
    return int(said) if said.isdecimal() else 0
