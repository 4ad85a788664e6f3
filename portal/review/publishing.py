"""Letting a swimmer's family read a review, and taking it back."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime

from django.db import transaction
from django.db.models import F, Value
from django.db.models.functions import Coalesce
from django.utils.text import Truncator
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.items import checking, observing
from portal.items.models import Observation, Verdict
from portal.kit.templatetags.look import film_time
from portal.mailroom.dispatching import dispatch
from portal.mailroom.models import OutgoingMail
from portal.people import consenting
from portal.people.models import Consent, Squad, Suspension, Swimmer, User
from portal.recordings import accompanying, playing, showing
from portal.recordings.models import Clip, Effort, Rendition
from portal.review import commenting, stilling, telling
from portal.review.models import Comment, Review

# How often stills are drawn anew because a comment was changed while they were drawn.
DRAWINGS = 3


class Hindered(Exception):
    """Something must be done first; `reasons` says what, for people to read."""

    def __init__(self, reasons: list[str]) -> None:
        super().__init__("This review cannot be published yet: " + " ".join(reasons))
        self.reasons = reasons


def hindrances(
    review: Review, comments: Sequence[Comment] | None = None, *, by: User, at: datetime
) -> list[str]:
    """What stands in the way of publishing, each with what to do about it. Five queries, and
    three more where somebody may not be shown.

    Whoever has the review's comments already saves one of them.
    """
    comments = comments_of(review) if comments is None else comments
    found = list(_unopened(review.session.squad, by=by))
    if not comments:
        found.append(_("There is no comment yet. Write one on a clip, or a deck note."))
    # Most are finished, and need no name.
    unfinished = [comment for comment in comments if any(_unfinished(comment, ""))]
    names = _names(unfinished)
    for comment in unfinished:
        found += _unfinished(comment, names[comment.pk])
    return found + list(_unshowable(comments, on=review.session.squad.club.day(at)))


def publish(review: Review, *, by: User, at: datetime) -> list[OutgoingMail]:
    """Show the review to the swimmer's family and write their notices.

    The stills are drawn first, since drawing takes longer than a transaction may; if somebody
    changed a comment meanwhile, they are drawn again, so that no old picture stands beside new
    words. Of two publishings at the same time one does it all and the other gets no mail to send.
    """
    for _round in range(DRAWINGS):
        _must_be_free(review, by=by, at=at)
        for comment in comments_of(review):
            stilling.make_still(comment)
        mails = _publish_as_drawn(review, by=by, at=at)
        if mails is not None:
            return mails
    raise Hindered([_("Somebody is changing these comments just now. Publish in a moment.")])


def _publish_as_drawn(review: Review, *, by: User, at: datetime) -> list[OutgoingMail] | None:
    """None: a still is no longer what its comment says, and nothing has happened."""
    with transaction.atomic():
        # Whoever changes a comment locks its reviews too: from here on all stands still.
        held = Review.objects.select_for_update(of=("self",)).get(pk=review.pk)
        if held.state == Review.State.PUBLISHED:
            return []
        _must_be_free(review, by=by, at=at)
        comments = comments_of(review)
        if not all(stilling.is_current(comment) for comment in comments):
            return None
        _mark_published(review, by=by, at=at)
        seen = [_observation(comment, review, at=at) for comment in comments]
        checked = checking.close(review, said={checking.Key.of(each) for each in seen}, at=at)
        observing.observe(review.code, [*seen, *checked])
        showing.show({c.clip for c in comments if c.clip}, to=review.swimmer, at=at)
        mails = telling.notes_ready(review, at=at)
        for mail in mails:
            leaves = telling.leaves_at(mail, review, at=at)
            dispatch(mail, at=leaves, kind="review.send_notice", review=str(review.code))
        note(
            Entry.Action.PUBLISHED,
            review,
            at=at,
            by=by,
            club=review.session.squad.club,
            publishing=review.publishings,
            swimmer=str(review.swimmer.code),
            comments=len(comments),
        )
    return mails


def take_back(review: Review, *, by: User, at: datetime) -> None:
    """Make it a draft again: the family sees it no longer, and it counts as no look.

    Notices that have left cannot be called back; those that have not are stopped.
    """
    with transaction.atomic():
        published = Review.objects.published().filter(pk=review.pk)
        if not published.update(state=Review.State.DRAFT):
            return
        review.refresh_from_db(fields=["state"])
        observing.withdraw(review.code)
        # One review a session, so whatever was shown of this session, this review showed.
        shown = Clip.objects.filter(
            recording__session=review.session, showings__swimmer=review.swimmer
        )
        showing.close(list(shown), to=review.swimmer)
        telling.withhold(review)
        note(
            Entry.Action.TOOK_BACK,
            review,
            at=at,
            by=by,
            club=review.session.squad.club,
            publishing=review.publishings,
            swimmer=str(review.swimmer.code),
        )


def comments_of(review: Review) -> list[Comment]:
    """What would go out, with all that is asked about it before. One query."""
    comments = review.comments.kept().in_reading_order()
    return list(
        comments.select_related("clip__recording", "checkpoint", "fault__checkpoint", "drill")
    )


def _must_be_free(review: Review, *, by: User, at: datetime) -> None:
    if reasons := hindrances(review, by=by, at=at):
        raise Hindered(reasons)


def _mark_published(review: Review, *, by: User, at: datetime) -> None:
    Review.objects.filter(pk=review.pk).update(
        state=Review.State.PUBLISHED,
        publishings=F("publishings") + 1,
        first_out_at=Coalesce("first_out_at", Value(at)),
        handed_by=None,
        handed_at=None,
        published_at=at,
        published_by=by,
    )
    review.refresh_from_db(
        fields=["state", "publishings", "first_out_at", "published_at", "published_by"]
    )


def _names(comments: Sequence[Comment]) -> dict[int, str]:
    """How people tell each from the others: by its words, else by its moment. One query at most."""
    clips = {c.clip.pk: c.clip for c in comments if c.clip and not c.words.strip()}
    copies = playing.copies_of(clips.values()) if clips else {}
    return {c.pk: _name(c, copies.get(c.clip_id or 0)) for c in comments}


def _name(comment: Comment, copy: Rendition | None) -> str:
    if comment.words.strip():
        return _("“%(words)s”") % {"words": Truncator(comment.words).words(6)}
    if comment.clip is None or comment.frame is None:
        return _("“%(tag)s”") % {"tag": comment.title} if comment.tag else _("A note without film")
    place = comment.frame - comment.clip.first_frame
    if copy:
        moment = film_time(playing.moments(comment.clip, copy)[place])
    else:
        moment = _("frame %(number)s") % {"number": place + 1}
    if comment.tag is None:
        return _("The comment at %(moment)s") % {"moment": moment}
    return _("“%(tag)s” at %(moment)s") % {"tag": comment.title, "moment": moment}


def _unopened(squad: Squad, *, by: User) -> Iterator[str]:
    """Somebody beside the one who writes must be able to read it."""
    adult = squad.second_adult
    if adult is None or not adult.is_active or _is_shut_out(adult, squad):
        words = _("%(squad)s has no second adult. The head coach has to name one first.")
        yield words % {"squad": squad}
    elif adult == by:
        words = _("You are the second adult of %(squad)s yourself. Another coach has to publish.")
        yield words % {"squad": squad}


def _is_shut_out(adult: User, squad: Squad) -> bool:
    return Suspension.objects.filter(user=adult, club=squad.club_id, lifted_at=None).exists()


def _unfinished(comment: Comment, name: str) -> Iterator[str]:
    named = {"comment": name}
    if comment.tag is None:
        yield _("%(comment)s has no tag. Choose one, or drop the comment.") % named
    if not comment.words.strip():
        yield _("%(comment)s has no words. Say what you saw, or drop the comment.") % named
    if comment.clip is None:
        return
    if comment.verdict == Verdict.NOT_LEGAL and comment.clip.effort != Effort.RACE:
        words = _("%(comment)s says not legal of a swim below race pace. Make it “work on”.")
        yield words % named
    if comment.clip.removed_at:
        yield _("%(comment)s stands on a clip that was removed. Drop the comment.") % named


def _unshowable(comments: Collection[Comment], *, on: date) -> Iterator[str]:
    """A clip is shown only if everybody who swims in it may be shown. One that the family wants
    hidden is no hindrance: the words go out, and the film stays hidden."""
    clips = {comment.clip_id for comment in comments if comment.clip_id}
    if Clip.objects.filter(pk__in=clips, recording__not_to_be_shown=True).exists():
        yield _(
            "The film of a comment is not to be shown to families: somebody without consent is in"
            " it. Write what you saw as deck notes."
        )
    if all(company.may_be_shown for company in accompanying.of_clips(clips, on=on).values()):
        return
    swimmers = list(Swimmer.objects.filter(clips__in=clips).distinct())
    may_be_shown = consenting.allowed(Consent.Purpose.SHOW, of=swimmers, on=on)
    unfilmed = set(consenting.refused(Consent.Purpose.FILM, on=on).filter(swimmer__in=swimmers))
    for swimmer in swimmers:
        if swimmer.id in unfilmed:
            words = _(
                "%(swimmer)s may not be filmed any more, so nothing is said on these clips. Write"
                " what you saw as deck notes."
            )
            yield words % {"swimmer": swimmer}
        elif swimmer.id not in may_be_shown:
            words = _(
                "There is no consent to show clips of %(swimmer)s. Write these comments as deck"
                " notes, or ask the family."
            )
            yield words % {"swimmer": swimmer}


def _observation(comment: Comment, review: Review, *, at: datetime) -> Observation:
    fault = comment.fault if comment.verdict != Verdict.GOOD else None
    checkpoint = fault.checkpoint if fault else comment.checkpoint
    assert checkpoint is not None, f"{comment.code}: published without a tag"  # noqa: S101
    return Observation(
        swimmer=review.swimmer,
        session=review.session,
        date=review.session.date,
        stroke=commenting.stroke_of(comment),
        checkpoint=checkpoint,
        fault=fault,
        verdict=comment.verdict,
        source=Observation.Source.COMMENT if comment.clip else Observation.Source.DECK,
        clip=comment.clip,
        coach=comment.author,
        review_code=review.code,
        comment_code=comment.code,
        at=at,
    )
