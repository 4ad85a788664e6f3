"""A club takes its words along, and brings them with it: rows from the tables and back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from portal.people.models import Club
from portal.technique import owning
from portal.technique.forms import OwnCheckpointForm, OwnDrillForm, OwnFaultForm, RewordForm
from portal.technique.lexicon import CLUB, EVERYBODY, Lexicon, Row
from portal.technique.models import Checkpoint, Drill, Fault, Rule, RuleBook, Term, Wording
from portal.technique.owning import MODELS, OWN, By, Refused
from portal.technique.wording import TABLES, Words

TEXTS: dict[type[Term], str] = {
    Checkpoint: "good", Drill: "how", Fault: "see", Rule: "paraphrase",
}  # fmt: skip
PLAIN = ("name", "phase", "cost", "cue", "cue_young", "severity", "dose", "equipment")
# What points at others comes after them.
ORDER = ("checkpoints", "drills", "faults")


def gather(club: Club) -> Lexicon:
    """Everybody's words and the club's own. Eight queries, whatever the size."""
    words = Words.of(club)
    rows = [row for model in (Checkpoint, Drill, Fault) for row in _rows(model, words)]
    rules = [_row("rules", rule, None) for rule in Rule.objects.current()]
    return Lexicon((*rows, *rules), words.book)


def _rows(model: Any, words: Words) -> Iterator[Row]:  # noqa: ANN401
    terms = words.terms(model.objects.all())
    if model is Fault:
        terms = terms.select_related("checkpoint").prefetch_related("drills", "rules", "cautions")
    elif model is Drill:
        terms = terms.prefetch_related("cautions")
    for term in terms:
        yield _row(TABLES[model], term, words.wording(term))


def _row(table: str, term: Any, wording: Wording | None) -> Row:  # noqa: ANN401
    links: dict[str, Any] = {
        name: tuple(sorted(each.slug for each in getattr(term, name).all()))
        for name in ("drills", "rules", "cautions")
        if isinstance(term, Fault) or (name == "cautions" and isinstance(term, Drill))
    }
    plain: dict[str, Any] = {name: str(getattr(term, name, "")) for name in PLAIN}
    ours: dict[str, Any] = {}
    if wording:
        ours = {
            "our_name": wording.name,
            "our_cue": wording.cue,
            "our_cue_young": wording.cue_young,
            "our_drills": tuple(wording.drills),
            "left_out": wording.is_hidden,
        }
    return Row(
        table=table,
        slug=term.slug,
        whose=CLUB if term.club_id else EVERYBODY,
        strokes=tuple(term.stroke_slugs),
        text=getattr(term, TEXTS[type(term)]),
        checkpoint=term.checkpoint.slug if isinstance(term, Fault) else "",
        also=tuple(getattr(term, "also", ())),
        **plain,
        **links,
        **ours,
    )


@transaction.atomic
def take_in(club: Club, lexicon: Lexicon, *, by: By) -> Counter[str]:
    """Add, change and reword what the file says of the club's own; nothing is removed.

    All or nothing. Raises Refused, which names the row.
    """
    counts: Counter[str] = Counter()
    slugs: dict[str, str] = {}
    for table in ORDER:
        for row in lexicon.rows:
            if row.table == table and row.whose == CLUB:
                counts[_take_own(club, row, slugs, by)] += 1
    known = {
        (table, slug)
        for table, model in MODELS.items()
        for slug in model.objects.filter(club=None).values_list("slug", flat=True)
    }
    for row in lexicon.rows:
        if row.whose == EVERYBODY and (row.table, row.slug) in known:
            counts["reworded"] += _take_wording(club, row, slugs, by)
    if lexicon.rule_book and lexicon.rule_book != Words.of(club).book:
        if lexicon.rule_book not in RuleBook.values:
            raise Refused(_("“%(book)s” is no rule book we know.") % {"book": lexicon.rule_book})
        owning.choose_book(club, lexicon.rule_book, by=by)
    return +counts


def _take_own(club: Club, row: Row, slugs: dict[str, str], by: By) -> str:
    model: Any = MODELS[row.table]
    form = _form(club, row, slugs)
    if not form.is_valid():
        wrong = "; ".join(f"{name}: {errors[0]}" for name, errors in form.errors.items())
        raise Refused(f"{row.name}: {wrong}")
    said = dict(form.cleaned_data)
    drills = said.pop("drills", ())
    # Of two portals, or two clubs of one, each has its own slugs.
    term: Any = model.objects.filter(club=club, slug=row.slug).first()
    try:
        if term is None:
            term = owning.add(club, model, said, drills=drills, slug=_free(model, row.slug), by=by)
            return "added"
        if _is_same(term, said, drills):
            return "unchanged"
        owning.change(term, {**said, "is_retired": False}, drills=drills, by=by)
        return "changed"
    finally:
        if term is not None:
            slugs[row.slug] = term.slug


def _free(model: Any, slug: str) -> str:  # noqa: ANN401
    """The slug that it had, unless that is no slug of a club's own, or somebody else's."""
    is_taken = not slug.startswith(OWN) or model.objects.filter(slug=slug).exists()
    return "" if is_taken else slug


def _form(club: Club, row: Row, slugs: Mapping[str, str]) -> Any:  # noqa: ANN401
    drills = [slugs.get(slug, slug) for slug in row.drills]
    data = {
        **{name: getattr(row, name) for name in PLAIN},
        TEXTS[MODELS[row.table]]: row.text,
        "strokes": list(row.strokes),
        "checkpoint": slugs.get(row.checkpoint, row.checkpoint),
        "also": "\n".join(row.also),
    }
    if row.table == "faults":
        return OwnFaultForm({**data, "drills": drills}, words=Words.of(club), every_drill=True)
    return (OwnCheckpointForm if row.table == "checkpoints" else OwnDrillForm)(data)


def _is_same(term: Any, said: Mapping[str, Any], drills: Any) -> bool:  # noqa: ANN401
    is_same = not term.is_retired and all(
        getattr(term, key) == value for key, value in said.items()
    )
    if is_same and isinstance(term, Fault):
        return {*term.drills.values_list("slug", flat=True)} == {*drills}
    return is_same


def _take_wording(club: Club, row: Row, slugs: Mapping[str, str], by: By) -> int:
    form = RewordForm({"name": row.our_name})
    cues = (row.our_cue, row.our_cue_young)
    if not form.is_valid() or any(len(cue) > 160 for cue in cues):
        raise Refused(_("“%(name)s”: our words for it are too long.") % {"name": row.name})
    said = {
        "name": form.cleaned_data["name"],
        "is_hidden": row.left_out,
        "cue": row.our_cue.strip(),
        "cue_young": row.our_cue_young.strip(),
        "drills": [slugs.get(slug, slug) for slug in row.our_drills],
    }
    stored = Wording.objects.filter(club=club, table=row.table, slug=row.slug)
    kept = stored.values(*said).first()
    # A file says what is ours; what it does not speak of stays.
    if not any(said.values()) or kept == said:
        return 0
    owning.reword(club, row.table, row.slug, said, by=by)
    return 1
