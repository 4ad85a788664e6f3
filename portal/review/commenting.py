"""Writing comments. What was kept is never lost: versions rise, and a drop can be taken back."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Iterable
from datetime import datetime
from difflib import get_close_matches
from typing import Any, NamedTuple, TypedDict, Unpack

from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils.translation import gettext as _

from portal.audit.models import Entry
from portal.audit.noting import note
from portal.items.checking import Key
from portal.items.models import Verdict
from portal.people.models import Club, Swimmer, User
from portal.recordings.models import Clip, Effort, Session
from portal.review import choosing, drawing
from portal.review.models import Comment, Review
from portal.technique.models import Drill, Stroke


class Fields(TypedDict, total=False):
    """What stands on the slip. Frames are the recording's numbers; `tag` and `drill` are slugs,
    empty for none. Left out when writing: all swimmers of the clip, one frame, no words. `drawing`
    is as chalk.py tells, or None."""

    frame: int
    last_frame: int | None
    swimmers: Collection[Swimmer]
    verdict: str
    tag: str
    words: str
    staff_note: str
    cue: str
    drill: str
    dose: str
    focus: bool
    drawing: dict[str, Any] | None


class Swim(NamedTuple):
    """What a comment is about, as far as its tag has to fit it."""

    stroke: str
    effort: str
    """Empty where nobody noted it."""


class Refused(Exception):
    """The slip cannot be kept like this. `field` is the part of it that is at fault."""

    field = ""

    def __init__(self, message: str, field: str = "") -> None:
        super().__init__(message)
        self.field = field or self.field


class UnknownTag(Refused):
    field = "tag"


class UnknownDrill(Refused):
    field = "drill"


class OutsideClip(Refused):
    field = "frame"


class NotInClip(Refused):
    field = "swimmers"


class NotJudged(Refused):
    """`not legal` was said of a swim or a fault to which no rule applies."""

    field = "verdict"


class AlreadyOut(Refused):
    field = "review"


class Stale(Exception):
    """Somebody kept or dropped the comment in between; `comment` is how it stands now."""

    def __init__(self, comment: Comment) -> None:
        super().__init__(f"Version {comment.version} was kept in between. Compare, then keep.")
        self.comment = comment


def write(
    clip: Clip,
    *,
    by: User,
    at: datetime,
    code: uuid.UUID | None = None,
    **fields: Unpack[Fields],
) -> Comment:
    """`code` is chosen by a page that may have to send the same comment twice."""
    comment = Comment(
        code=code or uuid.uuid4(),
        session=clip.recording.session,
        clip=clip,
        author=by,
        created_at=at,
        changed_at=at,
    )
    with transaction.atomic():
        _fill(comment, clip, fields)
        reviews = _reviews_of(clip, fields.get("swimmers", clip.swimmers.all()))
        hang(comment, reviews, focus=fields.get("focus"))
        club = clip.recording.session.squad.club
        note(Entry.Action.MADE, comment, at=at, by=by, club=club, version=comment.version)
    return comment


def change(
    comment: Comment, *, version: int, by: User, at: datetime, **fields: Unpack[Fields]
) -> Comment:
    """Change what `fields` names and leave the rest. Raises Stale unless `version` is current."""
    with transaction.atomic():
        current = _claim(comment, version=version)
        clip = _clip_of(current)
        reviews = _open_reviews(current)
        _fill(current, clip, fields)
        current.changed_at = at
        swimmers = fields.get("swimmers")
        if swimmers is not None and _ids(swimmers) != {row.swimmer_id for row in reviews}:
            reviews = _reviews_of(clip, swimmers)
            current.reviews.set(reviews)
        current.save(
            update_fields=[
                *("frame", "last_frame", "verdict", "checkpoint", "fault"),
                *("words", "staff_note", "cue", "drill", "dose", "drawing", "changed_at"),
            ]
        )
        _point(current, reviews, focus=fields.get("focus"))
        club = clip.recording.session.squad.club
        note(Entry.Action.CHANGED, current, at=at, by=by, club=club, version=current.version)
    return current


def drop(comment: Comment, *, by: User, at: datetime) -> Comment:
    """Take it out of the review; `restore` brings it back as it was. Twice is once."""
    with transaction.atomic():
        _open_reviews(comment)
        taken = Comment.objects.kept().filter(pk=comment.pk)
        if taken.update(dropped_at=at, version=F("version") + 1):
            Review.objects.filter(focus=comment).update(focus=None)
            _uncheck(comment)
            club = comment.session.squad.club
            note(Entry.Action.REMOVED, comment, at=at, by=by, club=club)
    return _fresh(comment)


def restore(comment: Comment, *, by: User, at: datetime, focus: bool = False) -> Comment:
    """`focus` makes it the focus again, unless another comment has become it since."""
    with transaction.atomic():
        _open_reviews(comment)
        dropped = Comment.objects.filter(pk=comment.pk, dropped_at__isnull=False)
        if dropped.update(dropped_at=None, version=F("version") + 1):
            if focus and comment.verdict != Verdict.GOOD:
                comment.reviews.filter(focus=None).update(focus=comment)
            _uncheck(comment)
            club = comment.session.squad.club
            note(Entry.Action.CHANGED, comment, at=at, by=by, club=club, restored=1)
    return _fresh(comment)


def _claim(comment: Comment, *, version: int) -> Comment:
    """Raise the version of a row that still has it; of two writers at once, one is Stale."""
    kept = Comment.objects.kept().filter(pk=comment.pk, version=version)
    claimed = kept.update(version=F("version") + 1)
    current = _fresh(comment)
    if not claimed:
        raise Stale(current)
    return current


def _fresh(comment: Comment) -> Comment:
    rows = Comment.objects.select_related(
        "checkpoint", "fault__checkpoint", "drill", "author", "session__squad__club"
    )
    return rows.select_related("clip__recording__session__squad__club").get(pk=comment.pk)


def _clip_of(comment: Comment) -> Clip:
    if comment.clip is None:
        raise OutsideClip(_("A note without film has no moment. Take it out on the deck sheet."))
    return comment.clip


def _fill(comment: Comment, clip: Clip, fields: Fields) -> None:
    """Lay `fields` over the comment and check the whole, without storing it."""
    comment.frame = fields.get("frame", comment.frame)
    comment.last_frame = fields.get("last_frame", comment.last_frame)
    _check_moment(comment, clip)
    comment.drawing = drawing.read(fields.get("drawing", comment.drawing))
    lay(comment, Swim(clip.stroke, clip.effort), fields)


def key_of(comment: Comment) -> Key | None:
    """The item that it is said of, once published; None while it has no tag."""
    fault = comment.fault if comment.verdict != Verdict.GOOD else None
    checkpoint = fault.checkpoint_id if fault else comment.checkpoint_id
    return Key(stroke_of(comment), checkpoint, fault.pk if fault else None) if checkpoint else None


def stroke_of(comment: Comment) -> str:
    """A deck note names its own. Where that was not asked yet it is the first of its tag's, and
    medley if that has none."""
    if comment.clip or comment.stroke:
        return comment.clip.stroke if comment.clip else comment.stroke
    named = comment.tag.stroke_slugs if comment.tag else []
    return next((slug for slug in named if slug in Stroke.values), Stroke.MEDLEY)


def lay(comment: Comment, swim: Swim, fields: Fields) -> None:
    """What is said, without where in the film; checked and not stored."""
    _tag(comment, swim, fields)
    comment.words = fields.get("words", comment.words)
    comment.staff_note = fields.get("staff_note", comment.staff_note)
    comment.cue = _short(fields.get("cue", comment.cue), 160, "cue")
    comment.dose = _short(fields.get("dose", comment.dose), 40, "dose")
    if "drill" in fields and fields["drill"] != (comment.drill.slug if comment.drill else ""):
        comment.drill = _drill(fields["drill"], comment.session.squad.club)
    if fields.get("focus") and comment.verdict == Verdict.GOOD:
        raise Refused(_("Praise is never the focus. Choose a correction."), "focus")


def _check_moment(comment: Comment, clip: Clip) -> None:
    bounds = {"first": clip.first_frame, "last": clip.last_frame}
    for field, frame in [("frame", comment.frame), ("last_frame", comment.last_frame)]:
        if field == "last_frame" and frame is None:
            continue
        if frame is None or not clip.first_frame <= frame <= clip.last_frame:
            message = _("Frame %(frame)s is not in this clip. It has frames %(first)s to %(last)s.")
            raise OutsideClip(message % {"frame": frame, **bounds}, field)
    if comment.last_frame is not None and comment.last_frame <= (comment.frame or 0):
        message = _("The stretch ends at frame %(last)s, before it begins. Choose a later frame.")
        raise OutsideClip(message % {"last": comment.last_frame}, "last_frame")


def _tag(comment: Comment, swim: Swim, fields: Fields) -> None:
    was_praise, before = comment.verdict == Verdict.GOOD, comment.tag.slug if comment.tag else ""
    comment.verdict = fields.get("verdict", comment.verdict)
    if comment.verdict not in Verdict.values:
        message = _("“%(verdict)s” is no verdict. Choose good, work on or not legal.")
        raise Refused(message % {"verdict": comment.verdict}, "verdict")
    has_turned = was_praise != (comment.verdict == Verdict.GOOD)
    slug = fields.get("tag", "" if has_turned else before)
    # A tag that was retired since stays on what it was said of.
    if has_turned or slug != before:
        _set_tag(comment, swim, slug)
    if comment.verdict == Verdict.NOT_LEGAL:
        _check_rule(comment, swim)


def _set_tag(comment: Comment, swim: Swim, slug: str) -> None:
    comment.checkpoint = comment.fault = None
    if slug and comment.verdict == Verdict.GOOD:
        points = choosing.checkpoints(swim.stroke, comment.session.squad.club)
        comment.checkpoint = points.filter(slug=slug).first()
        if comment.checkpoint is None:
            raise UnknownTag(_no_tag(slug, swim, points.values_list("slug", flat=True)))
    elif slug:
        faults = choosing.faults(swim.stroke, comment.session.squad.club)
        comment.fault = faults.select_related("checkpoint").filter(slug=slug).first()
        if comment.fault is None:
            raise UnknownTag(_no_tag(slug, swim, faults.values_list("slug", flat=True)))
        comment.checkpoint = comment.fault.checkpoint


def _no_tag(slug: str, swim: Swim, known: Iterable[str]) -> str:
    near = get_close_matches(slug, known, n=3, cutoff=0.5)
    names = {"tag": slug, "stroke": Stroke(swim.stroke).label, "near": ", ".join(near)}
    if near:
        message = _("“%(tag)s” is not in the list for %(stroke)s. Near it: %(near)s.")
    else:
        message = _("“%(tag)s” is not in the list for %(stroke)s. Choose one that the list offers.")
    return message % names


def _check_rule(comment: Comment, swim: Swim) -> None:
    if swim.effort and swim.effort != Effort.RACE:
        message = _(
            "Not legal is only said of swims at race pace; this clip is %(effort)s. "
            "Choose work on, or change the clip’s effort on the sorting table."
        )
        raise NotJudged(message % {"effort": Effort(swim.effort).label})
    if comment.fault and not comment.fault.rules.exists():
        message = _("“%(fault)s” breaks no rule we know of. Choose work on, or another fault.")
        raise NotJudged(message % {"fault": comment.fault.name}, "tag")


def _drill(slug: str, club: Club) -> Drill | None:
    if not slug:
        return None
    drill = Drill.objects.of_club(club).filter(slug=slug).first()
    if drill is None:
        known = Drill.objects.of_club(club).values_list("slug", flat=True)
        near = ", ".join(get_close_matches(slug, known, n=3, cutoff=0.5)) or _("none")
        message = _("There is no drill “%(drill)s”. Near it: %(near)s.")
        raise UnknownDrill(message % {"drill": slug, "near": near})
    return drill


def hang(comment: Comment, reviews: list[Review], *, focus: bool | None) -> None:
    """Store it in these reviews, which are open and locked."""
    _insert(comment)
    comment.reviews.add(*reviews)
    _point(comment, reviews, focus=focus)


def _insert(comment: Comment) -> None:
    try:
        with transaction.atomic():
            comment.save(force_insert=True)
    except IntegrityError:
        raise Refused(
            _("This comment was kept by somebody else already. Load the page again."), "code"
        ) from None


def _short(text: str, limit: int, field: str) -> str:
    if len(text) > limit:
        message = _("“%(start)s…” has %(length)s letters; %(limit)s are the most.")
        values = {"start": text[:20], "length": len(text), "limit": limit}
        raise Refused(message % values, field)
    return text


def _reviews_of(clip: Clip, swimmers: Iterable[Swimmer]) -> list[Review]:
    """One for each swimmer named, made when first needed; all of them still open."""
    named, members = list(swimmers), set(clip.swimmers.values_list("pk", flat=True))
    if not named:
        raise NotInClip(_("A comment is for somebody. Choose a swimmer of this clip."))
    for swimmer in named:
        if swimmer.pk not in members:
            message = _("%(name)s does not swim in this clip. Choose a swimmer of this clip.")
            raise NotInClip(message % {"name": swimmer.name})
    return reviews_for(clip.recording.session, named)


def reviews_for(session: Session, swimmers: Iterable[Swimmer]) -> list[Review]:
    """One for each, made when first needed, and locked. Raises AlreadyOut."""
    ids = [Review.objects.get_or_create(session=session, swimmer=one)[0].pk for one in swimmers]
    return _locked(Review.objects.filter(pk__in=ids).select_for_update())


def _open_reviews(comment: Comment) -> list[Review]:
    """Those in which it stands, none of which is out."""
    return _locked(comment.reviews.select_for_update(of=("self",)))


def lock(reviews: Collection[Review]) -> list[Review]:
    """As they stand now, and until the transaction ends. Raises AlreadyOut."""
    ids = [review.pk for review in reviews]
    return _locked(Review.objects.filter(pk__in=ids).select_for_update(of=("self",)))


def _locked(reviews: Iterable[Review]) -> list[Review]:
    """A review that is being published waits for us, or we for it and then find it out."""
    rows = list(reviews)
    if any(row.state == Review.State.PUBLISHED for row in rows):
        raise AlreadyOut(_("This review is out. Take the review back first, then change it."))
    return rows


def _ids(swimmers: Iterable[Swimmer]) -> set[int]:
    return {swimmer.pk for swimmer in swimmers}


def _point(comment: Comment, reviews: list[Review], *, focus: bool | None) -> None:
    """Make it the focus of these reviews and of no others, if so asked."""
    ids = [review.pk for review in reviews]
    pointing = Review.objects.filter(focus=comment)
    if focus is False or comment.verdict == Verdict.GOOD:
        pointing.update(focus=None)
    else:
        pointing.exclude(pk__in=ids).update(focus=None)
    if focus:
        Review.objects.filter(pk__in=ids).update(focus=comment)
    _uncheck(comment)


def _uncheck(comment: Comment) -> None:
    """What was checked has changed since, so it is a draft again."""
    comment.reviews.filter(state=Review.State.CHECKED).update(state=Review.State.DRAFT)
