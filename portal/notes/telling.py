"""The mail that a coach has answered below notes: to each guardian separately, and to a swimmer
who is of age. A minor reads it on the page; no mail goes from an adult to a child alone."""

from __future__ import annotations

from datetime import datetime

from portal.mailroom.dispatching import dispatch
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import post
from portal.people.ages import GROWN_UP
from portal.people.reading import readers_of
from portal.replies.models import Reply
from portal.review.models import Review
from portal.review.telling import may_be_told, page_address


def answered(review: Review, reply: Reply, *, at: datetime) -> list[OutgoingMail]:
    """Rows and jobs; the job asks once more whether its reader may be told. Whoever wants no word
    of ready notes gets none of answers below them either."""
    club = review.session.squad.club
    today = club.day(at)
    readers = readers_of(review.swimmer, on=today)
    is_grown_up = review.swimmer.age(today) >= GROWN_UP
    people = readers.everybody if is_grown_up else readers.guardians
    context = {
        "review": review,
        "reply": reply,
        "address": f"{page_address('notes:notes', review.code)}#talk",
        "concern_address": page_address("concern"),
    }
    mails = [
        post(
            reader,
            club=club,
            kind=OutgoingMail.Kind.NOTES_READY,
            key=f"answered:{reply.code}:{reader.code}",
            template="answered",
            context=context,
            at=at,
        )
        for reader in people
        if may_be_told(review, reader, at=at)
    ]
    written = [mail for mail in mails if mail]
    for mail in written:
        dispatch(mail, at=at, kind="review.send_notice", review=str(review.code))
    return written
