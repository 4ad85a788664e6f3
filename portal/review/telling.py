"""The notice that notes are ready. Its words hold all that matters: parents rarely sign in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import accumulate
from zoneinfo import ZoneInfo

from django.conf import settings
from django.urls import reverse
from django.utils.html import escape
from django.utils.translation import gettext as _

from portal.items.models import Verdict
from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import post
from portal.mailroom.quieting import not_at_night
from portal.mailroom.skipping import skip
from portal.people.ages import GROWN_UP
from portal.people.models import Club, Swimmer, User
from portal.people.reading import Readers, readers_of
from portal.recordings.models import Effort
from portal.review.models import Comment, Review
from portal.technique.citing import named
from portal.technique.models import Caution, Rule
from portal.technique.wording import Words

# Bytes: what the HTML part has for notes, and what the tags come to around the words of one
# note and around each drill or caution in it.
HTML_ROOM = 80_000
NOTE_TAGS = 1_000
BOX_TAGS = 450

ORDER = [Verdict.GOOD, Verdict.WORK_ON, Verdict.NOT_LEGAL]
GLYPHS = {Verdict.GOOD: "○", Verdict.WORK_ON: "●", Verdict.NOT_LEGAL: "◆"}
INKS = {Verdict.GOOD: "good", Verdict.WORK_ON: "work", Verdict.NOT_LEGAL: "legal"}


@dataclass(frozen=True)
class Note:
    """One comment as the mail tells it; what was not said is empty."""

    heading: str
    glyph: str
    ink: str
    title: str
    stroke: str
    words: str
    cue: str
    drill: str
    how: str
    cautions: list[str]
    warning: str
    rules: list[str]

    @property
    def size(self) -> int:
        """Bytes of HTML that it will come to, or some fewer."""
        said = [self.title, self.words, self.cue, self.drill, self.how, self.warning]
        words = sum(len(escape(part).encode()) for part in [*said, *self.cautions, *self.rules])
        return words + NOTE_TAGS + BOX_TAGS * (bool(self.drill) + len(self.cautions))


def notes_ready(review: Review, *, at: datetime) -> list[OutgoingMail]:
    """One mail each for the swimmer's guardians of today and, from 13, for the swimmer, as far as
    they want it.

    Call it again for the same publishing and there is nothing more to send.
    """
    club = review.session.squad.club
    today = club.day(at)
    readers = _wanting(readers_of(review.swimmer, on=today), review.swimmer, on=today)
    notes = _notes(review)
    fits = _fitting(notes)
    context = {
        "review": review,
        "session": review.session,
        "notes": notes,
        "fitting": notes[:fits],
        "more": len(notes) - fits,
        "swimmer_has_mail": readers.own is not None,
        "notes_address": page_address("notes:notes", review.code),
        "concern_address": page_address("concern"),
    }
    mails = [
        post(
            reader,
            club=club,
            kind=OutgoingMail.Kind.NOTES_READY,
            key=f"{_publishing(review)}{reader.code}",
            template="notes_ready",
            context={**context, "is_swimmer": reader == readers.own},
            at=at,
        )
        for reader in readers.everybody
    ]
    return [mail for mail in mails if mail]


def _wanting(readers: Readers, swimmer: Swimmer, *, on: date) -> Readers:
    """One query. A minor gets none once no guardian wants any: no adult would read along."""
    gone = stopping.stopped(readers.everybody, OutgoingMail.Kind.NOTES_READY)

    def wants(reader: User) -> bool:
        return not {(reader.pk, None), (reader.pk, swimmer.pk)} & gone

    guardians = [guardian for guardian in readers.guardians if wants(guardian)]
    own = readers.own if readers.own and wants(readers.own) else None
    is_alone = swimmer.age(on) < GROWN_UP and not guardians
    return Readers(guardians, None if is_alone else own)


def leaves_at(mail: OutgoingMail, review: Review, *, at: datetime) -> datetime:
    """At once; a child's own mail not at night."""
    swimmer, club = review.swimmer, review.session.squad.club
    is_minor = mail.recipient_id == swimmer.user_id and swimmer.age(club.day(at)) < GROWN_UP
    return not_at_night(at, ZoneInfo(club.zone)) if is_minor else at


def withhold(review: Review) -> None:
    """Stop those notices of this publishing that have not left yet."""
    skip(
        OutgoingMail.objects.filter(key__startswith=_publishing(review)),
        why=_("The review was taken back before this left."),
    )


def may_be_told(review: Review, reader: User, *, at: datetime) -> bool:
    """Whether a notice to this reader would be written today, too."""
    today = review.session.squad.club.day(at)
    readers = _wanting(readers_of(review.swimmer, on=today), review.swimmer, on=today)
    return review.state == Review.State.PUBLISHED and reader in readers.everybody


def stop(mail: OutgoingMail) -> None:
    """For a reader who may not be told any more; nobody learns the reason from it."""
    skip(
        OutgoingMail.objects.filter(pk=mail.pk),
        why=_("Its reader may not read these notes now, or wants no such mail."),
    )


def _publishing(review: Review) -> str:
    return f"notes ready:{review.code}:{review.publishings}:"


def _notes(review: Review) -> list[Note]:
    """The focus first, then praise, then what to work on, then what looks not legal; of each,
    what was filmed before what was noted on deck."""
    comments = list(
        review.comments.kept()
        .in_reading_order()
        .select_related("clip", "checkpoint", "fault__checkpoint", "drill")
        .prefetch_related("fault__rules", "fault__cautions", "drill__cautions")
    )
    lay_over(comments, club=review.session.squad.club)
    ranked = sorted(
        comments,
        key=lambda comment: (
            comment.pk != review.focus_id,
            ORDER.index(Verdict(comment.verdict)),
            comment.clip_id is None,
        ),
    )
    return [note_on(comment, is_focus=comment.pk == review.focus_id) for comment in ranked]


def lay_over(comments: Iterable[Comment], *, club: Club) -> None:
    """The club's own words on the terms of these comments. Two queries at most."""
    terms = [(c.checkpoint, c.fault, c.fault and c.fault.checkpoint, c.drill) for c in comments]
    Words.of(club).lay_over(term for four in terms for term in four)


def note_on(comment: Comment, *, is_focus: bool) -> Note:
    verdict = Verdict(comment.verdict)
    is_warning = verdict == Verdict.NOT_LEGAL
    drill, fault = comment.drill, comment.fault
    dose = comment.dose or (drill.dose if drill else "")
    cautions = [*(drill.cautions.all() if drill else []), *(fault.cautions.all() if fault else [])]
    return Note(
        heading=_heading(verdict, is_focus=is_focus),
        glyph=GLYPHS[verdict],
        ink=INKS[verdict],
        title=comment.title,
        stroke=comment.clip.get_stroke_display() if comment.clip else "",
        words=comment.words.strip(),
        cue=comment.cue,
        drill=", ".join(part for part in [drill.name, dose] if part) if drill else "",
        how=drill.how if drill else "",
        cautions=_texts(cautions),
        warning=_warning(comment) if is_warning else "",
        rules=[_cited(rule) for rule in fault.rules.all()] if fault and is_warning else [],
    )


def _heading(verdict: Verdict, *, is_focus: bool) -> str:
    """`Looks` always stands before `not legal`: it is one camera, not an official."""
    if verdict == Verdict.NOT_LEGAL:
        return _("Focus, looks not legal") if is_focus else _("Looks not legal")
    if is_focus:
        return _("Focus")
    return _("Good") if verdict == Verdict.GOOD else _("Work on")


def _warning(comment: Comment) -> str:
    if comment.clip is None:
        return _("This is a warning from the deck, not an official’s decision.")
    warning = _("This is a warning from one camera, not an official’s decision.")
    if comment.clip.effort == Effort.RACE:
        warning += " " + _("It was swum at race effort.")
    return warning


def _cited(rule: Rule) -> str:
    """The rule with its book, and what it says in our words."""
    return f"{named(rule.name, rule.citations)}. {rule.paraphrase}"


def _texts(cautions: Iterable[Caution]) -> list[str]:
    """Each once, although drill and fault often name the same."""
    return list(dict.fromkeys(caution.text for caution in cautions))


def _fitting(notes: list[Note]) -> int:
    """How many notes the HTML part holds before a mail program would cut it off."""
    sizes = accumulate(note.size for note in notes)
    return sum(size <= HTML_ROOM for size in sizes)


def page_address(name: str, *parts: object) -> str:
    """From the one configured address, never from what a request says of itself."""
    return settings.PUBLIC_ADDRESS + reverse(name, args=parts)
