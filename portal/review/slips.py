"""Comments as the bench's scripts read them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from itertools import groupby
from operator import itemgetter
from typing import Any, Self
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Count, Sum
from django.urls import reverse
from django.utils.timezone import localtime

from portal.items.models import Verdict
from portal.people.access import Actor
from portal.people.accounts import short_name
from portal.people.models import Squad
from portal.recordings.models import Clip
from portal.review import access
from portal.review.models import Comment, CommentQuerySet, Review
from portal.technique.models import Wording
from portal.technique.wording import our_name

Row = dict[str, Any]
Slip = dict[str, Any]

# One row for each review in which a comment stands.
COLUMNS = (
    *(
        "pk",
        "code",
        "version",
        "frame",
        "last_frame",
        "verdict",
        "words",
        "staff_note",
        "cue",
        "dose",
        "drawing",
    ),
    *("created_at", "changed_at", "dropped_at", "author", "author__name"),
    *("checkpoint__slug", "fault__slug", "drill__slug"),
    *("reviews__code", "reviews__state", "reviews__focus", "reviews__swimmer__code"),
)
PLACE = ("pk", "state", "focus")
# Stands in an address for the code to come: to make each address anew costs more than the rest.
ANY = UUID(int=0)


def as_json(comment: Comment, *, actor: Actor) -> Slip:
    """One query, beside what the comment's squad and club cost if they are not loaded."""
    [slip] = read(Comment.objects.filter(pk=comment.pk), squad=comment.session.squad, actor=actor)
    return slip


def read(comments: CommentQuerySet, *, squad: Squad, actor: Actor) -> list[Slip]:
    """Comments of this squad, by their frames. One query."""
    reader = Reader.of(actor, squad)
    names = {
        f"{path}_name": our_name(squad.club_id, table, path)
        for path, table in [
            ("fault", Wording.Table.FAULT),
            ("checkpoint", Wording.Table.CHECKPOINT),
        ]
    }
    ordered = comments.order_by("frame", "pk", "reviews__pk").annotate(**names)
    rows = ordered.values(*COLUMNS, *names)
    return [reader.slip(list(group)) for _pk, group in groupby(rows, key=itemgetter("pk"))]


def state(clip: Clip, *, actor: Actor) -> str:
    """Changes with whatever `read` would say of this clip to this person. Two queries.

    Versions only rise, so their sum is another after each change, drop and return.
    """
    seen = clip.comments.aggregate(count=Count("pk"), versions=Sum("version"))
    reviews = Review.objects.filter(comments__clip=clip).order_by("pk").distinct()
    places = [f"{pk}{state}{focus}" for pk, state, focus in reviews.values_list(*PLACE)]
    facts = f"{actor.code} {actor.leads(clip.recording.session.squad)} {seen} {places}"
    return f'"{sha256(facts.encode()).hexdigest()[:24]}"'


@dataclass(frozen=True)
class Reader:
    """Who reads, and what is the same for all comments that they read."""

    actor: Actor
    squad: Squad
    zone: ZoneInfo
    change: str
    drop: str
    restore: str
    repeat: str
    publish: str
    hand_over: str

    @classmethod
    def of(cls, actor: Actor, squad: Squad) -> Self:
        return cls(actor, squad, ZoneInfo(squad.club.zone), **_addresses())

    def slip(self, rows: list[Row]) -> Slip:
        row, code = rows[0], str(rows[0]["code"])
        is_out = any(each["reviews__state"] == Review.State.PUBLISHED for each in rows)
        may_change = access.may_change(self.actor, self.squad, author=row["author"])
        tag = "checkpoint" if row["verdict"] == Verdict.GOOD else "fault"
        return {
            "code": code,
            "version": row["version"],
            "frame": row["frame"],
            "lastFrame": row["last_frame"],
            "verdict": row["verdict"],
            "tag": row[f"{tag}__slug"] or "",
            "name": row[f"{tag}_name"] or "",
            "words": row["words"],
            "staffNote": row["staff_note"],
            "cue": row["cue"],
            "drill": row["drill__slug"] or "",
            "dose": row["dose"],
            "drawing": row["drawing"],
            "focus": any(each["reviews__focus"] == row["pk"] for each in rows),
            "swimmers": [str(each["reviews__swimmer__code"]) for each in rows],
            "author": short_name(row["author__name"]),
            "isOwn": row["author"] == self.actor.user.pk,
            "mayChange": may_change and not is_out,
            "isOut": is_out,
            "made": row["created_at"].timestamp(),
            "isDropped": row["dropped_at"] is not None,
            "kept": f"{localtime(row['changed_at'], self.zone):%H:%M}",
            "urls": {
                "change": _fill(self.change, code),
                "drop": _fill(self.drop, code),
                "restore": _fill(self.restore, code),
                "repeat": _fill(self.repeat, code),
            },
            "publish": [_fill(self.publish, str(each["reviews__code"])) for each in rows],
            "handOver": [_fill(self.hand_over, str(each["reviews__code"])) for each in rows],
        }


def bench_of(clip: Clip) -> str:
    return _fill(_bench(), str(clip.code))


@cache
def _bench() -> str:
    return reverse("review:bench", args=[ANY])


@cache
def _addresses() -> dict[str, str]:
    verbs = ("change", "drop", "restore", "repeat", "publish", "hand_over")
    return {verb: reverse(f"review:{verb}", args=[ANY]) for verb in verbs}


def _fill(address: str, code: str) -> str:
    return address.replace(str(ANY), code)
