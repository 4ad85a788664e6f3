"""A club's own words: who may make them, what they change, and that every change is on record."""

from __future__ import annotations

import pytest
from django.test import Client

from portal.audit.models import Entry
from portal.people.access import actor_for
from portal.people.models import Club
from portal.review import choosing, slips
from portal.review.models import Comment, Review
from portal.technique.models import (
    Caution,
    Checkpoint,
    Drill,
    Edition,
    Fault,
    MonthList,
    Vocabulary,
    Wording,
)
from portal.technique.owning import By, Refused, add, change, reword, set_month
from portal.technique.wording import Words
from tests.cast import DAY, NOW, Cast, signed_in
from tests.review import words as few

HEELS = "/technique/own/faults/feet-low/"
FAULT = {
    "name": "Lazy frog",
    "strokes": ["breast"],
    "phase": "kick",
    "checkpoint": "heels-close",
    "see": "The feet dawdle.",
    "cost": "A short push.",
    "cue": "Snap.",
    "cue_young": "Quick frog!",
    "severity": "major",
    "also": "sleepy frog\n\nslow feet",
    "drill": "heels-to-hands",
}


@pytest.fixture
def learnt(db) -> few.Words:
    return few.learn()


@pytest.fixture
def by(cast: Cast) -> By:
    return By(cast.head_coach, NOW)


def record() -> list[tuple[str, str]]:
    return [
        (entry.detail["what"], entry.detail.get("slug", ""))
        for entry in Entry.objects.filter(thing="vocabulary").order_by("id")
    ]


def test_it_works(cast: Cast, learnt):
    coach = signed_in(cast.coach)
    answer = coach.post(HEELS, {"name": "Sleepy heels", "cue": "Heels!", "drill": "heels-to-hands"})
    assert answer.status_code == 302
    page = coach.get("/technique/faults/feet-low/").content.decode()
    assert "Sleepy heels" in page
    assert "Otterbrook’s name for it; elsewhere: Feet not brought up to the hips." in page
    assert "“Heels!”" in page
    assert "“Feet up like a frog.”" in page, "what is left empty stays"
    assert "Sleepy heels" in coach.get("/technique/breast/").content.decode()
    assert record() == [("reworded", "feet-low")]
    assert Fault.objects.get(slug="feet-low").name == "Feet not brought up to the hips"


def test_another_club_goes_on_in_its_own_words(cast: Cast, learnt, by: By):
    reword(cast.club, "faults", "feet-low", {"name": "Sleepy heels"}, by=by)
    own = add(cast.club, Drill, {"name": "Ours", "strokes": " breast ", "phase": "kick"}, by=by)
    rival = signed_in(cast.rival_coach)
    assert "Sleepy heels" not in rival.get("/technique/breast/").content.decode()
    assert rival.get(f"/technique/drills/{own.slug}/").status_code == 404
    assert rival.get(f"/technique/own/drills/{own.slug}/").status_code == 404
    assert rival.post(f"/technique/own/drills/{own.slug}/retire/").status_code == 404


def test_what_is_left_out_is_not_offered_and_stays_readable(cast: Cast, learnt):
    coach = signed_in(cast.coach)
    coach.post(HEELS, {"is_hidden": "on"})
    assert "/faults/feet-low/" not in coach.get("/technique/breast/").content.decode()
    assert coach.get("/technique/faults/feet-low/").status_code == 200
    assert "left out" in coach.get("/technique/own/").content.decode()
    coach.post(HEELS, {})
    assert "/faults/feet-low/" in coach.get("/technique/breast/").content.decode()
    assert not Wording.objects.exists()
    assert record() == [("left out", "feet-low"), ("as was", "feet-low")]


def test_a_fault_of_our_own(cast: Cast, learnt):
    coach = signed_in(cast.coach)
    assert coach.post("/technique/own/add/faults/", FAULT).status_code == 302
    own = Fault.objects.get(name="Lazy frog")
    assert own.slug.startswith("own-")
    assert (own.club, own.checkpoint, own.also) == (
        cast.club,
        learnt.heels,
        ["sleepy frog", "slow feet"],
    )
    assert [drill.slug for drill in own.drills.all()] == ["heels-to-hands"]
    page = coach.get(f"/technique/faults/{own.slug}/").content.decode()
    assert "A word of Otterbrook alone." in page
    assert own.slug in coach.get("/technique/search/?q=sleepy+frog").content.decode()
    coach.post(f"/technique/own/faults/{own.slug}/", {**FAULT, "name": "Dozy frog"})
    own.refresh_from_db()
    assert own.name == "Dozy frog"
    coach.post(f"/technique/own/faults/{own.slug}/retire/")
    own.refresh_from_db()
    assert own.is_retired
    assert [what for what, _slug in record()] == ["added", "changed", "retired"]


def test_a_drill_of_our_own_carries_the_cautions_of_its_part_of_the_swim(cast: Cast, by: By):
    from_files = {"name": "x", "how": "x", "dose": "x"}
    for slug in ("breath-holding", "neck-back", "racing-dive-depth", "knee-pain"):
        Caution.objects.create(slug=slug, name=slug, text=slug)
    for strokes, phase, needed in [
        (" free ", "underwater", {"breath-holding", "neck-back"}),
        (" breast ", "pullout", {"breath-holding"}),
        (" any ", "start", {"racing-dive-depth"}),
        (" breast ", "kick", {"knee-pain"}),
        (" any ", "kick", {"knee-pain"}),
        (" free ", "kick", set()),
    ]:
        columns = {**from_files, "name": f"{strokes}{phase}", "strokes": strokes, "phase": phase}
        own = add(cast.club, Drill, columns, by=by)
        assert {caution.slug for caution in own.cautions.all()} == needed, columns


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"name": "feet not brought up to the HIPS"}, "There is a “feet not brought up"),
        ({"name": ""}, "This field is required."),
        ({"strokes": ["darts"]}, "darts is not one of the available choices"),
        ({"checkpoint": "none"}, "none is not one of the available choices"),
        ({"cue": "x" * 161}, "at most 160 characters"),
    ],
)
def test_a_word_that_cannot_be_added(cast: Cast, learnt, data, said: str):
    answer = signed_in(cast.coach).post("/technique/own/add/faults/", {**FAULT, **data})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Fault.objects.filter(club=cast.club).exists()


def test_two_things_never_have_one_name(cast: Cast, learnt):
    coach = signed_in(cast.coach)
    answer = coach.post(HEELS, {"name": "two dolphin kicks"})
    assert answer.status_code == 422
    assert "There is a “two dolphin kicks” already." in answer.content.decode()
    assert coach.post(HEELS, {"name": "Feet not brought up to the hips"}).status_code == 302


def test_everybodys_words_are_not_changed(cast: Cast, learnt, by: By):
    with pytest.raises(Refused, match="everybody’s"):
        change(learnt.feet, {"name": "Mine"}, by=by)
    address = "/technique/own/faults/feet-low/retire/"
    assert signed_in(cast.coach).post(address).status_code == 404


def test_a_checkpoint_with_faults_of_ours_is_not_retired(cast: Cast, learnt, by: By):
    columns = {"strokes": " breast ", "phase": "kick"}
    point = add(cast.club, Checkpoint, {"name": "Ours", "good": "Good.", **columns}, by=by)
    add(cast.club, Fault, {"name": "Theirs", "checkpoint": point, **columns}, by=by)
    page = signed_in(cast.coach).post(
        f"/technique/own/checkpoints/{point.slug}/retire/", follow=True
    )
    assert "Faults of yours still point at it." in page.content.decode()
    point.refresh_from_db()
    assert not point.is_retired


def test_the_rule_book_is_the_head_coachs(cast: Cast, learnt):
    assert signed_in(cast.coach).post("/technique/own/", {"rule_book": "NFHS"}).status_code == 403
    assert not Vocabulary.objects.exists()
    head = signed_in(cast.head_coach)
    assert head.post("/technique/own/", {"rule_book": "Pub quiz"}).status_code == 422
    assert head.post("/technique/own/", {"rule_book": "NFHS"}).status_code == 302
    assert Words.of(cast.club).book == "NFHS"
    assert record() == [("rule book", "")]


def test_a_short_list_for_the_month(cast: Cast, learnt, client: Client):
    address = f"/technique/own/month/{cast.squad.code}/"
    coach = signed_in(cast.coach)
    assert "heels-close" in coach.get(address).content.decode()
    coach.post(address, {"place0": "heels-close", "place3": "heels-close"})
    kept = MonthList.objects.get()
    assert (kept.squad, kept.slugs, kept.month.day) == (cast.squad, ["heels-close"], 1)
    assert "Heels close to the hips" in coach.get("/technique/own/").content.decode()
    for reader in (cast.guardian, cast.swimmer_user, cast.second_adult):
        page = signed_in(reader).get("/technique/").content.decode()
        assert 'href="/technique/checkpoints/heels-close/"' in page
    rivals = signed_in(cast.rival_coach).get("/technique/").content.decode()
    assert "heels-close" not in rivals
    coach.post(address, {})
    assert not MonthList.objects.exists()
    assert [what for what, _slug in record()] == ["month", "month"]


def test_a_list_that_is_too_long_or_of_another_club_is_refused(cast: Cast, learnt, by: By):
    names = {"strokes": " breast ", "phase": "kick", "good": "x"}
    slugs = [
        add(cast.club, Checkpoint, {**names, "name": f"P {number}"}, by=by).slug
        for number in range(8)
    ]
    with pytest.raises(Refused, match="has 7 at most"):
        set_month(cast.squad, DAY, slugs, by=by)
    Checkpoint.objects.filter(slug=slugs[0]).update(club=Club.objects.get(name="Northmere"))
    with pytest.raises(Refused, match="not among your checkpoints"):
        set_month(cast.squad, DAY, slugs[:2], by=by)


def test_the_finder_offers_the_clubs_words_and_the_months_list(cast: Cast, learnt, by: By):
    reword(cast.club, "faults", "feet-low", {"name": "Sleepy heels", "cue": "Heels!"}, by=by)
    reword(cast.club, "faults", "two-dolphins", {"is_hidden": True}, by=by)
    own = add(
        cast.club,
        Fault,
        {"name": "Lazy frog", "strokes": " breast ", "phase": "kick", "checkpoint": learnt.heels},
        by=by,
    )
    set_month(cast.squad, DAY, ["heels-close"], by=by)

    told = choosing.as_json("breast", cast.squad, on=DAY)

    assert [(fault["slug"], fault["name"]) for fault in told["faults"]] == [
        ("feet-low", "Sleepy heels"),
        (own.slug, "Lazy frog"),
    ]
    assert told["faults"][0]["cue"] == "Heels!"
    assert told["unoffered"] == [{"slug": "two-dolphins", "name": "Two dolphin kicks"}]
    assert told["month"] == ["feet-low", own.slug, "heels-close"]
    everybody = choosing.as_json("breast")
    assert [fault["slug"] for fault in everybody["faults"]] == ["feet-low", "two-dolphins"]
    assert everybody["month"] == []


def test_a_change_gives_the_finders_words_a_new_tag(cast: Cast, learnt, by: By):
    Edition.objects.create()
    tags = [choosing.tag("breast", cast.squad, on=DAY)]
    reword(cast.club, "faults", "feet-low", {"name": "Sleepy heels"}, by=by)
    tags.append(choosing.tag("breast", cast.squad, on=DAY))
    set_month(cast.squad, DAY, ["heels-close"], by=by)
    tags.append(choosing.tag("breast", cast.squad, on=DAY))
    tags.append(choosing.tag("breast", cast.squad, on=DAY.replace(month=12)))
    tags.append(choosing.tag("breast"))
    assert len(set(tags)) == len(tags)


def test_a_word_of_ours_can_be_said(cast: Cast, learnt, by: By):
    part = {"strokes": " breast ", "phase": "kick"}
    drill = add(cast.club, Drill, {"name": "Pebble", "how": "x", "dose": "4", **part}, by=by)
    theirs = Club.objects.get(name="Northmere")
    for club in (cast.club, theirs):
        add(club, Fault, {"name": "Lazy frog", "checkpoint": learnt.heels, **part}, by=by)
    own, other = (Fault.objects.get(club=club) for club in (cast.club, theirs))
    reword(cast.club, "faults", "feet-low", {"name": "Sleepy heels"}, by=by)
    address = f"/sessions/{cast.session.code}/deck/{cast.swimmer.code}/?stroke=breast"
    coach = signed_in(cast.coach)

    page = coach.get(address).content.decode()
    assert "Sleepy heels" in page
    assert own.slug in page
    assert other.slug not in page
    said = {"seen": f"work:{own.slug}", "drill": drill.slug, "dose": "4 x 25"}
    assert coach.post(address, said).status_code == 302
    kept = Comment.objects.get()
    assert (kept.fault, kept.checkpoint, kept.drill) == (own, learnt.heels, drill)
    assert coach.post(address, {**said, "seen": f"work:{other.slug}"}).status_code == 422


def test_the_bench_calls_what_was_said_by_our_name(
    cast: Cast, learnt, by: By, django_assert_num_queries
):
    note = Comment.objects.create(
        session=cast.session, stroke="breast", verdict="work on", fault=learnt.feet,
        checkpoint=learnt.heels, author=cast.coach, created_at=NOW, changed_at=NOW,
    )  # fmt: skip
    note.reviews.add(Review.objects.create(session=cast.session, swimmer=cast.swimmer))
    actor = actor_for(cast.coach, at=NOW)
    for said, name in [
        ({"cue": "Heels!"}, learnt.feet.name),
        ({"name": "Sleepy heels"}, "Sleepy heels"),
    ]:
        reword(cast.club, "faults", "feet-low", said, by=by)
        with django_assert_num_queries(1):
            [slip] = slips.read(Comment.objects.all(), squad=cast.squad, actor=actor)
        assert slip["name"] == name
