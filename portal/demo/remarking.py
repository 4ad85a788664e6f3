"""What the demo's coaches say of the clips, and sending it out."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid5

from portal.demo import chalking
from portal.demo.filming import swimmer_of, truth_of, user_of
from portal.demo.finishing import finish
from portal.demo.script import Adult, Piece, Practice
from portal.jobs.models import Job
from portal.mailroom.models import OutgoingMail
from portal.people.models import Club
from portal.recordings.models import Clip, Session
from portal.review import commenting, publishing
from portal.review.commenting import Fields
from portal.review.models import Comment, Review

# After the clip was cut, and from one comment to the next.
THINKING = timedelta(minutes=3)
# After the session was opened.
PUBLISHED = timedelta(hours=3, minutes=30)


def remark(piece: Piece, clip: Clip, *, start: int) -> None:
    """Write those of the piece's remarks that were never written, dropped or not.

    A review that is out, or was taken back by somebody, is no longer ours to add to.
    """
    if clip.removed_at or Review.objects.filter(
        session=clip.recording.session, swimmer__in=clip.swimmers.all(), publishings__gt=0
    ):
        return
    truth = truth_of(piece.footage)
    at = clip.cut_at
    for each in piece.remarks:
        at += THINKING
        code = uuid5(clip.code, f"{each.event} {each.turn} {each.tag}")
        if Comment.objects.filter(code=code).exists():
            continue
        frame = truth.frame(each.event, each.turn)
        fields = Fields(
            frame=start + frame,
            verdict=each.verdict,
            tag=each.tag,
            words=each.words,
            cue=each.cue,
            drill=each.drill,
            dose=each.dose,
        )
        if each.is_focus:
            fields["focus"] = True
        if each.angle:
            fields["drawing"] = chalking.angle(each.angle, truth, frame=frame)
        commenting.write(clip, by=user_of(piece.by), at=at, code=code, **fields)


def publish(practice: Practice, session: Session, *, by: Adult) -> None:
    """Each review of the script that never went out."""
    for name in sorted(practice.published):
        swimmer = swimmer_of(name, session.squad.club)
        review = Review.objects.get(session=session, swimmer=swimmer)
        if not review.publishings:
            publishing.publish(review, by=user_of(by), at=session.created_at + PUBLISHED)


def send_mail(club: Club) -> None:
    """What publishing left in the outbox, also before an interruption."""
    for mail in OutgoingMail.objects.filter(club=club, state=OutgoingMail.State.DUE):
        finish(Job.objects.get(key=f"mail:{mail.code}"))
