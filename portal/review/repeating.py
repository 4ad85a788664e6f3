"""The same remark for other swimmers of the session.

What was said of one is said to others as a note without film: verdict, tag, words, cue, drill and
dose, and neither the frame nor the drawing. A comment on some frame of their own clips would claim
that somebody had looked at that frame.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from portal.items.models import Verdict
from portal.people.models import Swimmer, User
from portal.recordings.models import Clip
from portal.review import commenting, decking
from portal.review.commenting import Fields
from portal.review.models import Comment


def others(comment: Comment) -> QuerySet[Swimmer]:
    """Everybody filmed in the session to whom it was not said."""
    clips = Clip.objects.kept().filter(
        recording__session=comment.session_id, recording__thrown_away_at=None
    )
    swimmers = Swimmer.objects.filter(pk__in=clips.values("swimmers"))
    return swimmers.exclude(pk__in=comment.reviews.values("swimmer"))


@transaction.atomic
def repeat(
    comment: Comment, swimmers: Collection[Swimmer], *, by: User, at: datetime
) -> list[Comment]:
    """A note for each, all or none. Raises commenting.Refused."""
    if comment.verdict == Verdict.NOT_LEGAL:
        raise commenting.NotJudged(
            _("Not legal is said of one swim on film. Write it on each swimmer’s own clip.")
        )
    if comment.tag is None:
        raise commenting.UnknownTag(_("Choose a tag first; then it can be said to others."))
    said = Fields(
        verdict=comment.verdict,
        tag=comment.tag.slug,
        words=comment.words,
        cue=comment.cue,
        drill=comment.drill.slug if comment.drill else "",
        dose=comment.dose,
    )
    stroke = commenting.stroke_of(comment)
    return [
        decking.write(comment.session, swimmer, stroke=stroke, by=by, at=at, **said)
        for swimmer in swimmers
    ]
