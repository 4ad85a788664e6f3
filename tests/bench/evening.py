"""An evening of a squad with as many comments as are asked for, as rows without film."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import cycle, islice

from portal.items.models import Verdict
from portal.people.models import Guardianship, Squad, Swimmer, User
from portal.recordings import showing
from portal.recordings.models import Clip, Recording, Rendition, Session
from portal.recordings.timing import pack_times
from portal.review.models import Comment, Review
from portal.technique.models import Checkpoint, Fault
from tests.cast import LONG_AGO, NOW, Cast, consent_to_all, make_swimmer, make_user
from tests.recordings import filmed

NAMES = ["Arvo", "Bibi", "Cleo", "Dario", "Edda", "Falk"]
CLIPS_EACH = 2
MOMENTS = 8
CLIP_FRAMES = 120
# A take of four minutes, as somebody films a whole lane.
TAKE_FRAMES = 7200
WORDS = "Your hands part a second after the wall, so the glide ends early. Ride it longer."


@dataclass(frozen=True)
class Evening:
    coach: User
    guardian: User
    session: Session
    review: Review
    """Published, and for the guardian to read."""
    clip: Clip
    """Of another swimmer, whose review is still a draft."""
    draft: Review
    """Of a third swimmer."""


def hold(cast: Cast, squad: Squad, coach: User, *, comments: int) -> Evening:
    session = Session.objects.create(
        squad=squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=NOW.date() + timedelta(days=1),
        theme="turns",
        created_by=coach,
        created_at=NOW,
    )
    guardian = make_user(f"Parent of {squad}")
    reviews = [
        Review.objects.create(session=session, swimmer=_swimmer(name, squad, guardian))
        for name in NAMES
    ]
    cuts = _cut(cast, _filmed(cast, session), reviews)
    said = _said([clip for clip, _review in cuts], comments, by=coach)
    Comment.objects.bulk_create(said)
    through = Comment.reviews.through
    through.objects.bulk_create(
        through(comment=comment, review=review)
        for comment, (_clip, review) in zip(said, cycle(cuts), strict=False)
    )
    publish(reviews[0], coach, moments=MOMENTS)
    return Evening(coach, guardian, session, reviews[0], cuts[1][0], reviews[2])


def _swimmer(name: str, squad: Squad, guardian: User) -> Swimmer:
    swimmer = make_swimmer(squad.club, squad, f"{name} {squad}", born=date(2012, 4, 1))
    Guardianship.objects.create(guardian=guardian, swimmer=swimmer, starts=LONG_AGO)
    consent_to_all(swimmer, guardian)
    return swimmer


def _filmed(cast: Cast, session: Session) -> Recording:
    recording = filmed.ready(cast, session=session)
    times = pack_times([number * 3000 for number in range(TAKE_FRAMES)])
    recording.renditions.update(frame_count=TAKE_FRAMES, packed_times=times)
    return recording


def _cut(cast: Cast, recording: Recording, reviews: list[Review]) -> list[tuple[Clip, Review]]:
    starts = range(0, TAKE_FRAMES, CLIP_FRAMES)
    return [
        (
            filmed.clip(cast, recording, review.swimmer, first=first, last=first + CLIP_FRAMES - 1),
            review,
        )
        for first, review in zip(starts, reviews * CLIPS_EACH, strict=False)
    ]


def _said(clips: list[Clip], count: int, *, by: User) -> list[Comment]:
    """One after the other on all clips, the three verdicts in turn, each with its words."""
    point = Checkpoint.objects.current().for_stroke("breast")[0]
    faults = Fault.objects.current().for_stroke("breast")
    broken = faults.filter(rules__isnull=False)[0]
    slow = faults.filter(drills__isnull=False)[0]
    tags = [
        {"verdict": Verdict.GOOD, "checkpoint": point},
        {"verdict": Verdict.WORK_ON, "fault": slow, "drill": slow.drills.all()[0]},
        {"verdict": Verdict.NOT_LEGAL, "fault": broken},
    ]
    places: Iterator[tuple[int, Clip]] = islice(enumerate(cycle(clips)), count)
    return [
        Comment(
            session=clip.recording.session,
            clip=clip,
            frame=clip.first_frame + number // len(clips) % CLIP_FRAMES,
            words=WORDS,
            cue="Ride the line.",
            still=f"stills/{number}.jpg",
            author=by,
            created_at=NOW,
            changed_at=NOW,
            # Each swimmer hears all three.
            **tags[number // len(NAMES) % len(tags)],
        )
        for number, clip in places
    ]


def publish(review: Review, by: User, *, moments: int) -> None:
    """With the families' copies of its clips, as publishing orders them. A family reads a page:
    of a thousand comments so many stand in one swimmer's notes."""
    review.comments.remove(*review.comments.order_by("pk")[moments:])
    clips = Clip.objects.filter(comments__reviews=review).distinct()
    for clip in clips:
        copy = filmed.copy(clip.recording, clip)
        ticks = [number * 3000 for number in range(clip.frame_count)]
        Rendition.objects.filter(pk=copy.pk).update(packed_times=pack_times(ticks))
    showing.show(clips, to=review.swimmer, at=NOW)
    Review.objects.filter(pk=review.pk).update(
        state=Review.State.PUBLISHED,
        focus=review.comments.order_by("pk")[0],
        publishings=1,
        published_at=NOW,
        published_by=by,
    )
