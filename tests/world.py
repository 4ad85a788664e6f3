"""One of each thing that has an address, in the states that the access table names."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from django.core.files.base import ContentFile

from portal.items.models import Verdict
from portal.kit.storage import path_of, poster_name, strip_name
from portal.mailroom.models import OutgoingMail
from portal.meets.models import Entry, Meet
from portal.openness.models import Case
from portal.people.models import EmergencyLook, Swimmer
from portal.planning.models import Lane, Plan
from portal.poolside.models import Turn
from portal.recordings import showing
from portal.recordings.models import Clip, Effort, Recording, Rendition, Session, View
from portal.reports.models import Sheet
from portal.review.models import Comment, Mark, Review
from portal.technique.models import Checkpoint, Drill, Fault, Rule, Stroke
from tests.cast import DAY, NOW, Cast
from tests.recordings.filmed import copy, ready

Codes = dict[str, UUID]


def build(cast: Cast) -> Codes:
    """Code by the kind of thing and its state: Ines's review is out (`shown`), one of another
    day is a draft again (`taken back`), Noor's is a draft."""
    _learn()
    recording = ready(cast)
    for path in (path_of(strip_name(recording.code)), path_of(poster_name(recording.code))):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"a picture")
    whole = recording.renditions.get()
    _fill(whole)
    shown = _reviewed(cast, recording, cast.swimmer, first=0)
    draft = _reviewed(cast, recording, cast.mate, first=100)
    showing.show(Clip.objects.filter(comments=shown), to=cast.swimmer, at=NOW)
    Review.objects.filter(swimmer=cast.swimmer).update(
        state=Review.State.PUBLISHED, publishings=1, published_at=NOW, published_by=cast.coach
    )
    plan = Plan.objects.create(
        squad=cast.squad, date=DAY, proposed_by=cast.coach, proposed_at=NOW, lane_count=1
    )
    meet = Meet.objects.create(
        club=cast.club, name="Autumn Cup", starts=DAY, made_by=cast.coach, made_at=NOW
    )
    entry = Entry.objects.create(meet=meet, swimmer=cast.swimmer, distance=100, stroke="breast")
    again = Review.objects.create(session=_day_before(cast), swimmer=cast.swimmer, publishings=1)
    return {
        "club": cast.club.code,
        "guardianship": cast.swimmer.guardianships.order_by("pk")[0].code,
        "session": cast.session.code,
        "review[taken back]": again.code,
        "squad": cast.squad.code,
        "case": _told(cast).code,
        "look": _looked(cast).code,
        "person": cast.coach.code,
        "swimmer[shown]": cast.swimmer.code,
        "swimmer[draft]": cast.mate.code,
        "sheet": Sheet.objects.create(session=cast.session, asked_by=cast.coach, asked_at=NOW).code,
        "recording": recording.code,
        "deck note": _noted(cast).code,
        "mark": _marked(cast, draft).code,
        "turn": Turn.objects.create(session=cast.session, swimmer=cast.swimmer, place=1).code,
        "copy[whole]": whole.code,
        "lane plan": plan.code,
        "mail": _mail(cast).code,
        "meet": meet.code,
        "entry": entry.code,
        "lane": Lane.objects.create(plan=plan, number=1).code,
        **_codes("shown", shown),
        **_codes("draft", draft),
    }


def _learn() -> None:
    """Words of the catalogue by their own slugs, so that the catalogue may be loaded over them."""
    kick = {"strokes": " breast ", "phase": "kick"}
    point = Checkpoint.objects.create(slug="breast-heels-high", name="Heels high", good="", **kick)
    Fault.objects.create(slug="breast-heels-low", name="Heels low", checkpoint=point, **kick)
    Drill.objects.create(slug="breast-kick-hands-hips", name="Hands on the hips", **kick)
    Rule.objects.create(slug="two-hand-touch", name="Both hands", strokes=" breast ", phase="turn")


def _told(cast: Cast) -> Case:
    return Case.objects.create(
        club=cast.club,
        reader=Case.Reader.OFFICER,
        subject=Case.Subject.CHILD,
        about="the changing room",
        words="Something was not right.",
        may_answer=True,
        told_by=cast.guardian,
        at=NOW,
    )


def _looked(cast: Cast) -> EmergencyLook:
    return EmergencyLook.objects.create(
        user=cast.volunteer, club=cast.club, reason="A film stands still.", at=NOW, until=NOW
    )


def _marked(cast: Cast, on: Comment) -> Mark:
    assert on.clip is not None
    assert on.frame is not None
    return Mark.objects.create(
        clip=on.clip, kind=Mark.Kind.LEFT, frame=on.frame, set_by=cast.coach, set_at=NOW
    )


def _mail(cast: Cast) -> OutgoingMail:
    return OutgoingMail.objects.create(
        club=cast.club,
        recipient=cast.coach,
        address=cast.coach.email,
        kind=OutgoingMail.Kind.INVITATION,
        key="invitation:of the world",
        subject="Otterbrook",
        text="Welcome.",
        state=OutgoingMail.State.SENT,
        created_at=NOW,
        sent_at=NOW,
    )


def _noted(cast: Cast) -> Comment:
    """From the deck, on Noor, whose review is a draft."""
    said = Comment.objects.create(
        session=cast.session,
        verdict=Verdict.GOOD,
        words="A long glide.",
        author=cast.coach,
        created_at=NOW,
        changed_at=NOW,
    )
    said.reviews.add(Review.objects.get(session=cast.session, swimmer=cast.mate))
    return said


def _day_before(cast: Cast) -> Session:
    return Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=DAY - timedelta(days=1),
        created_by=cast.coach,
        created_at=NOW,
    )


def _fill(rendition: Rendition) -> None:
    rendition.file.save(f"{rendition.code}.mp4", ContentFile(b"a film"), save=True)


def _reviewed(cast: Cast, recording: Recording, swimmer: Swimmer, *, first: int) -> Comment:
    clip = Clip.objects.create(
        recording=recording,
        first_frame=first,
        last_frame=first + 60,
        stroke=Stroke.BREAST,
        view=View.SIDE_UNDER,
        effort=Effort.RACE,
        cut_by=cast.coach,
        cut_at=NOW,
    )
    clip.swimmers.add(swimmer)
    _fill(copy(recording, clip))
    comment = Comment.objects.create(
        session=cast.session,
        clip=clip,
        frame=first + 10,
        verdict=Verdict.GOOD,
        words="The heels come right up.",
        author=cast.coach,
        created_at=NOW,
        changed_at=NOW,
    )
    comment.still.save("still.jpg", ContentFile(b"a still"), save=True)
    comment.reviews.add(Review.objects.create(session=cast.session, swimmer=swimmer))
    return comment


def _codes(state: str, comment: Comment) -> Codes:
    assert comment.clip is not None
    return {
        f"clip[{state}]": comment.clip.code,
        f"copy[{state}]": comment.clip.renditions.get().code,
        f"comment[{state}]": comment.code,
        f"review[{state}]": comment.reviews.get().code,
    }
