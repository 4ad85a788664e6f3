from __future__ import annotations

import re
from datetime import date, timedelta
from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import escape
from PIL import Image

from portal.audit.models import Entry
from portal.people.consenting import answer
from portal.people.models import Consent, User
from portal.recordings.models import Clip, Session
from portal.review import publishing
from portal.review.models import Comment, Review
from tests.cast import DAY, LONG_AGO, NOW, Cast, make_swimmer
from tests.notes import staging

LATER = NOW + timedelta(hours=1)
FAMILY = ["swimmer_user", "guardian", "co_guardian"]
STAFF = ["coach", "head_coach", "assistant"]
READERS = [*FAMILY, *STAFF, "second_adult"]
OTHERS = ["former_guardian", "mate_user", "mate_guardian", "other_coach", "rival_coach"]
OTHERS += ["stranger"]


@pytest.fixture
def review(cast: Cast) -> Review:
    review = staging.evening(cast)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


def read(person: User | None, address: str, **headers: str) -> Any:
    client = Client()
    if person is not None:
        client.force_login(person)
    return client.get(address, headers=headers)


def words_of(person: User | None, address: str) -> str:
    response = read(person, address)
    assert response.status_code == 200
    return str(response.content.decode())


def address(review: Review) -> str:
    return reverse("notes:notes", args=[review.code])


def still_address(comment: Comment) -> str:
    return reverse("notes:still", args=[comment.code])


def small_address(comment: Comment) -> str:
    return f"{still_address(comment)}?small"


def filmed(review: Review) -> Comment:
    return review.comments.get(words=staging.EARLY)


def test_it_works(review: Review, cast: Cast):
    page = words_of(cast.swimmer_user, address(review))

    assert "<h1>Ines, your notes</h1>" in page
    assert "Thursday 19 November 2026" in page
    assert "Quay Street" in page
    for comment in review.comments.all():
        assert escape(comment.words) in page
        assert escape(comment.title) in page
    assert "Think: Ride the line." in page
    assert "Swim this: Push and ride" in page
    assert "6 x 15" in page
    assert "Push off and do nothing else." in page
    assert page.count("Take care.") == 3
    assert "Come up whenever you like." in page
    assert "Know where the wall is." in page
    assert "Seen from the deck, not filmed" in page
    assert "0:01.00 · breaststroke · side, under water" in page
    assert "Marta Lind checked these notes" in page


def test_the_moments_come_in_reading_order(review: Review, cast: Cast):
    page = words_of(cast.guardian, address(review))

    order = [staging.EARLY, staging.HEELS, staging.DECK, staging.DOLPHINS]
    places = [page.index(words) for words in order]
    assert places == sorted(places)
    assert 'href="#m1" aria-label="Focus: Patient line off the wall"' in page
    assert 'aria-label="looks not legal: One small dolphin"' in page


def test_a_warning_says_what_it_is(review: Review, cast: Cast):
    page = words_of(cast.guardian, address(review))

    assert "This is a warning from one camera, not an official’s decision." in page
    assert "It was swum at race effort." in page
    assert "Rule: One dolphin kick, World Aquatics, edition of 2017 to 2023 (not checked" in page
    assert "numbering" not in page
    assert "looks not legal" in page


def test_pictures_are_described_and_have_their_place(review: Review, cast: Cast):
    page = words_of(cast.guardian, address(review))

    assert f'src="{small_address(filmed(review))}"' in page
    said = "Breaststroke, side, under water, at 0:01.00. Seen: line given up too early."
    assert f'alt="{said}" width="640" height="360"' in page
    assert page.count("<img") == 3
    assert page.count('loading="lazy"') == 2


@pytest.mark.parametrize(
    ("person", "heading", "sentence"),
    [
        ("swimmer_user", "Ines, your notes", "and your family."),
        ("guardian", "Ines: notes", "and your family."),
        ("second_adult", "Ines: notes", "and Ines’s family."),
        ("coach", "Ines: notes", "and Ines’s family."),
    ],
)
def test_everybody_learns_who_can_read_it(
    review: Review, cast: Cast, person: str, heading: str, sentence: str
):
    page = words_of(cast.person(person), address(review))

    assert f"<h1>{heading}</h1>" in page
    assert sentence in page
    assert "So can Tom Varga, the squad’s second adult" in page


def test_one_household_learns_nothing_of_the_other(review: Review, cast: Cast):
    households = [cast.guardian, cast.co_guardian]
    for reader, other in [households, households[::-1]]:
        page = words_of(reader, address(review))
        assert other.name not in page
        assert other.email not in page


@pytest.mark.parametrize("person", READERS)
def test_readers_read(review: Review, cast: Cast, person: str):
    assert read(cast.person(person), address(review)).status_code == 200
    assert read(cast.person(person), still_address(filmed(review))).status_code == 200


@pytest.mark.parametrize("person", OTHERS)
def test_others_find_nothing(review: Review, cast: Cast, person: str):
    assert read(cast.person(person), address(review)).status_code == 404
    assert read(cast.person(person), still_address(filmed(review))).status_code == 404


def test_nobody_reads_without_signing_in(review: Review):
    for place in [reverse("notes:home"), address(review), still_address(filmed(review))]:
        response = read(None, place)
        assert response.status_code == 302
        assert response.headers["Location"].startswith(reverse("doorway:sign_in"))


def test_a_barred_guardian_finds_nothing(review: Review, cast: Cast):
    cast.guardian.guardianships.update(barred_from=LONG_AGO)

    assert read(cast.guardian, address(review)).status_code == 404
    assert read(cast.guardian, still_address(filmed(review))).status_code == 404
    assert "Ines" not in words_of(cast.guardian, reverse("notes:home"))


@pytest.mark.parametrize("person", [*FAMILY, "second_adult", *OTHERS])
def test_a_draft_has_no_notes(cast: Cast, person: str):
    assert read(cast.person(person), address(staging.evening(cast))).status_code == 404


@pytest.mark.parametrize("person", STAFF)
def test_the_coaches_read_a_draft_as_the_family_will(cast: Cast, person: str):
    page = words_of(cast.person(person), address(staging.evening(cast)))

    assert "Only the coaches see this page." in page
    assert "The picture is drawn when the notes go out." in page
    assert escape(staging.EARLY) in page
    assert "checked these notes" not in page


def test_a_mate_in_the_same_clip_sees_only_their_own_notes(review: Review, cast: Cast):
    Clip.objects.get().swimmers.add(cast.mate)

    assert read(cast.mate_user, address(review)).status_code == 404
    assert read(cast.mate_user, still_address(filmed(review))).status_code == 404


@pytest.mark.parametrize("who", ["swimmer", "mate"])
def test_a_no_hides_the_picture_at_once(review: Review, cast: Cast, who: str):
    """Of anybody who swims in the clip, and without a word about whose no it was."""
    Clip.objects.get().swimmers.add(cast.mate)
    child = getattr(cast, who)
    by = child.guardianships.first().guardian
    answer(child, Consent.Purpose.SHOW, is_given=False, by=by, at=LATER)

    for person in [cast.guardian, cast.co_guardian, cast.swimmer_user, cast.second_adult]:
        assert read(person, still_address(filmed(review))).status_code == 404
        page = words_of(person, address(review))
        assert "<img" not in page
        assert "data-film" not in page
        assert page.count("There is no picture to show here at the moment.") == 3
        assert escape(staging.EARLY) in page
    assert read(cast.coach, still_address(filmed(review))).status_code == 200


def test_the_picture_is_kept_by_nobody_else(review: Review, cast: Cast):
    response = read(cast.guardian, still_address(filmed(review)))

    assert response.headers["Content-Type"] == "image/jpeg"
    assert response.headers["Cache-Control"] == "private, no-cache"
    assert Image.open(BytesIO(b"".join(response))).size == (640, 360)
    tag = response.headers["ETag"]
    again = read(cast.guardian, still_address(filmed(review)), if_none_match=tag)
    assert again.status_code == 304


def test_a_deck_note_has_no_picture(review: Review, cast: Cast):
    note = review.comments.get(clip=None)

    assert read(cast.coach, still_address(note)).status_code == 404


def test_the_film_is_offered_from_the_clips_own_copy(review: Review, cast: Cast):
    assert "data-moment" in words_of(cast.guardian, address(review))
    assert "data-film" not in words_of(cast.guardian, address(review))

    own = staging.copy_clip(Clip.objects.get())

    page = words_of(cast.guardian, address(review))
    assert f'data-film="{reverse("recordings:film", args=[own.code])}"' in page
    assert "data-moment" not in words_of(cast.second_adult, address(review))


def test_reading_is_noted_unless_it_is_work(review: Review, cast: Cast):
    before = Entry.objects.count()
    for person in [cast.guardian, cast.coach, cast.second_adult]:
        read(person, address(review))

    seen = Entry.objects.order_by("id")[before:]
    assert [(e.actor_code, e.thing_code) for e in seen] == [
        (cast.guardian.code, review.code),
        (cast.second_adult.code, review.code),
    ]


def test_words_are_never_markup(review: Review, cast: Cast):
    Comment.objects.filter(pk=filmed(review).pk).update(words="<script>x</script>")

    page = words_of(cast.guardian, address(review))

    assert "<script>x" not in page
    assert "&lt;script&gt;x" in page


def queries(person: User, place: str) -> int:
    client = Client()
    client.force_login(person)
    client.get(place)
    with CaptureQueriesContext(
        connection,
    ) as seen:
        assert client.get(place).status_code == 200
    return len(seen)


def another(cast: Cast, day: date, swimmer=None) -> Review:
    session = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course="25 m",
        date=day,
        created_by=cast.coach,
        created_at=NOW,
    )
    review = Review.objects.create(session=session, swimmer=swimmer or cast.swimmer)
    staging.comment(review, None)
    publishing.publish(review, by=cast.coach, at=NOW)
    return review


def test_home_works(review: Review, cast: Cast):
    older = another(cast, date(2026, 11, 12))

    page = words_of(cast.swimmer_user, reverse("notes:home"))

    assert "<h1>Ines, your notes</h1>" in page
    assert page.index(address(review)) < page.index(address(older))
    assert "Thursday 19 November 2026" in page
    assert "4 moments" in page
    assert "1 moment<" in page
    assert "Focus: <b>Patient line off the wall</b>" in page
    assert "2 good, 1 work on, 1 looks not legal" in page


def test_home_shows_one_child_at_a_time(review: Review, cast: Cast):
    jonas = make_swimmer(cast.club, cast.squad, "Jonas Falk", born=date(2014, 1, 1))
    jonas.guardianships.create(guardian=cast.guardian, starts=LONG_AGO)
    of_jonas = another(cast, DAY, jonas)

    first = words_of(cast.guardian, reverse("notes:home"))
    second = words_of(cast.guardian, f"{reverse('notes:home')}?swimmer={jonas.code}")

    assert address(review) in first
    assert address(of_jonas) not in first
    assert address(of_jonas) in second
    assert address(review) not in second
    assert f'href="?swimmer={jonas.code}" aria-current="page"' in second


@pytest.mark.parametrize("asked", ["mate", "squads", "nonsense"])
def test_home_answers_no_question_about_others(review: Review, cast: Cast, asked: str):
    of_mate = another(cast, DAY, cast.mate)
    code = cast.mate.code if asked == "mate" else asked

    page = words_of(cast.guardian, f"{reverse('notes:home')}?swimmer={code}")

    assert address(of_mate) not in page
    assert "Noor" not in page


def test_home_of_a_second_adult_has_the_squads_notes(review: Review, cast: Cast):
    of_mate = another(cast, DAY, cast.mate)
    staging.open_review(cast, cast.mate)

    page = words_of(cast.second_adult, reverse("notes:home"))

    assert address(review) in page
    assert address(of_mate) in page
    assert "as the squad’s second adult" in page
    assert page.count('class="evening"') == 2


def test_home_without_notes_says_what_will_come(cast: Cast):
    staging.evening(cast)

    own = words_of(cast.swimmer_user, reverse("notes:home"))
    of_parent = words_of(cast.guardian, reverse("notes:home"))
    of_stranger = words_of(cast.stranger, reverse("notes:home"))

    assert "No flags yet" in own
    assert "a flag hangs here for each thing they saw" in own
    assert "looked at Ines’s clips" in of_parent
    assert "No swimmer belongs to this sign-in" in of_stranger


def test_home_of_who_is_not_filmed_promises_no_clips(cast: Cast):
    Consent.objects.filter(purpose=Consent.Purpose.FILM).update(is_given=False)

    own = words_of(cast.swimmer_user, reverse("notes:home"))
    of_parent = words_of(cast.guardian, reverse("notes:home"))

    assert "You are not filmed. What your coach sees from the deck will stand here." in own
    assert "Ines is not filmed. What the coach sees from the deck will stand here." in of_parent
    assert "clips" not in own + of_parent


def test_home_says_nothing_of_what_another_household_answered(cast: Cast):
    film = Consent.objects.filter(swimmer=cast.swimmer, purpose=Consent.Purpose.FILM)
    before = home_of(cast.guardian)
    unasked = home_of(cast.co_guardian)
    assert "questions about film wait for your answer" in unasked

    film.update(is_given=False)
    assert home_of(cast.co_guardian) == unasked
    film.update(is_given=True)
    answer(cast.swimmer, Consent.Purpose.FILM, is_given=False, by=cast.co_guardian, at=NOW)

    assert home_of(cast.guardian) == before


def home_of(person: User) -> str:
    """Without the form's token, which is masked anew on every page."""
    return re.sub(r'value="\w{64}"', "", words_of(person, reverse("notes:home")))


def test_a_long_list_costs_no_more_queries(cast: Cast):
    another(cast, date(2026, 9, 1))
    few = queries(cast.guardian, reverse("notes:home"))
    for day in range(2, 21):
        another(cast, date(2026, 9, day))

    assert queries(cast.guardian, reverse("notes:home")) == few


@pytest.mark.parametrize("name", ["notes:notes", "notes:still"])
def test_pages_are_only_read(review: Review, cast: Cast, name: str):
    client = Client()
    client.force_login(cast.guardian)

    assert client.post(reverse(name, args=[review.code])).status_code == 405
