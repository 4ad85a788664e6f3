"""All film of the club for the officer, who holds one against everybody else, and lets it go."""

from __future__ import annotations

import pytest
from django.core.files.base import ContentFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.kit.storage import path_of, poster_name, strip_name
from portal.openness.models import Case, Line
from portal.people import consenting
from portal.people.models import Consent
from portal.recordings import cutting, holding, showing, throwing
from portal.recordings.models import Clip, Recording
from tests.cast import NOW, Cast
from tests.openness.told import case, client_of, look, read
from tests.recordings import filmed


@pytest.fixture
def clip(cast: Cast) -> Clip:
    """Of Ines, shown to her family, with a whole take around it."""
    recording = filmed.ready(cast)
    for path in (path_of(strip_name(recording.code)), path_of(poster_name(recording.code))):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"a picture")
    clip: Clip = filmed.clip(cast, recording, cast.swimmer)
    filmed.copy(recording, clip)
    for copy in recording.renditions.all():
        copy.file.save(f"{copy.code}.mp4", ContentFile(b"a film"))
    showing.show([clip], to=cast.swimmer, at=NOW)
    return clip


def address(clip: Clip) -> str:
    return f"/footage/{clip.recording.code}/"


def films(clip: Clip) -> list[str]:
    """Every address at which its pictures lie: both copies with their times, strip and poster."""
    recording = clip.recording
    copies = [
        reverse(f"recordings:{name}", args=[copy.code])
        for copy in recording.renditions.all()
        for name in ("film", "times")
    ]
    return [
        *copies,
        *(reverse(f"recordings:{name}", args=[recording.code]) for name in ("strip", "poster")),
    ]


def statuses(cast: Cast, name: str, clip: Clip) -> set[int]:
    client = client_of(getattr(cast, name))
    return {client.get(place).status_code for place in films(clip)}


def hold(cast: Cast, clip: Clip, **fields: str):
    given = {"act": "hold", "words": "Until it is clear.", **fields}
    return client_of(cast.welfare).post(address(clip), given)


def test_it_works(cast: Cast, clip: Clip):
    page = read(cast.welfare, "/footage/")
    assert cast.assistant.name in page
    assert "1 clip" in page
    assert address(clip) in page

    page = read(cast.welfare, address(clip))
    for copy in clip.recording.renditions.all():
        assert f'src="{reverse("recordings:film", args=[copy.code])}"' in page
    assert statuses(cast, "welfare", clip) == {200}


def test_a_hold_shuts_every_picture_to_everybody_else_at_once(cast: Cast, clip: Clip):
    look(cast)
    others = ["guardian", "swimmer_user", "second_adult", "assistant", "coach", "head_coach"]
    assert all(200 in statuses(cast, name, clip) for name in [*others, "volunteer"])

    hold(cast, clip)

    for name in [*others, "volunteer"]:
        assert statuses(cast, name, clip) == {404}, name
    assert statuses(cast, "welfare", clip) == {200}


def test_let_go_it_is_as_before(cast: Cast, clip: Clip):
    hold(cast, clip)
    hold(cast, clip, act="let go")

    assert statuses(cast, "coach", clip) == {200}
    assert 200 in statuses(cast, "guardian", clip)


def test_staff_read_that_it_is_held_and_nothing_plays(cast: Cast, clip: Clip):
    hold(cast, clip)

    session = read(cast.coach, f"/sessions/{cast.session.code}/")
    assert "Held by the welfare officer" in session
    assert "poster.jpg" not in session
    assert "<video" not in read(
        cast.coach, reverse("recordings:sorting", args=[clip.recording.code])
    )
    bench = read(cast.coach, reverse("review:bench", args=[clip.code]))
    assert "The welfare officer holds this film" in bench
    assert "film.mp4" not in bench


def test_the_desk_sends_nobody_to_sort_it(cast: Cast):
    uncut = filmed.ready(cast, name="lane 5.mp4")
    assert "lane 5.mp4" in read(cast.coach, "/")

    holding.hold(uncut, by=cast.welfare, at=NOW)

    assert "lane 5.mp4" not in read(cast.coach, "/")


def test_a_held_film_is_not_thrown_away_nor_cut_down(cast: Cast, clip: Clip):
    hold(cast, clip)
    held = Recording.objects.get(pk=clip.recording_id)

    with pytest.raises(throwing.Refused, match="holds this film"):
        throwing.throw_away(held, by=cast.coach, at=NOW)
    with pytest.raises(cutting.Refused, match="holds this film"):
        cutting.remove(Clip.objects.get(), by=cast.coach, at=NOW)


def test_the_reason_is_kept_in_the_case_chosen(cast: Cast, clip: Clip):
    told = case(cast)
    assert f'value="{told.code}" selected' in read(
        cast.welfare, f"{address(clip)}?case={told.code}"
    )

    hold(cast, clip, case=str(told.code))

    line = Line.objects.get()
    assert (line.case, line.what, line.words) == (told, "held", "Until it is clear.")
    assert line.thing_code == clip.recording.code
    assert clip.recording.name in read(cast.welfare, f"/cases/{told.code}/")
    assert f'value="{told.code}" selected' in read(cast.welfare, address(clip))


def test_or_in_a_case_of_the_officers_own(cast: Cast, clip: Clip):
    hold(cast, clip)

    own = Case.objects.get()
    assert (own.told_by, own.reader, own.words) == (cast.welfare, "officer", "Until it is clear.")


def test_a_hold_without_a_reason_is_none(cast: Cast, clip: Clip):
    assert hold(cast, clip, words="").status_code == 422
    assert not Recording.objects.filter(held_at__isnull=False).exists()


def test_a_case_that_is_the_second_recipients_is_not_on_offer(cast: Cast, clip: Clip):
    other = case(cast, reader=Case.Reader.SECOND)

    assert hold(cast, clip, case=str(other.code)).status_code == 422
    assert not Line.objects.exists()


def test_pressed_twice_it_is_held_once(cast: Cast, clip: Clip):
    for _again in range(2):
        hold(cast, clip)

    assert Line.objects.count() == Case.objects.count() == 1
    [entry] = Entry.objects.filter(thing="hold")
    assert (entry.action, entry.thing_code) == ("made", clip.recording.code)
    assert entry.detail == {}


@pytest.mark.parametrize(
    "name", ["guardian", "assistant", "coach", "head_coach", "second_recipient"]
)
def test_nobody_else_holds_or_looks_here(cast: Cast, clip: Clip, name: str):
    client = client_of(getattr(cast, name))

    assert client.get("/footage/").status_code == 404
    assert client.post(address(clip), {"act": "hold", "words": "x"}).status_code == 404


def test_the_volunteer_who_looks_holds_nothing(cast: Cast, clip: Clip):
    assert client_of(cast.volunteer).get("/footage/").status_code == 404

    look(cast)

    assert "Hold the film" not in read(cast.volunteer, address(clip))
    answer = client_of(cast.volunteer).post(address(clip), {"act": "hold", "words": "x"})
    assert answer.status_code == 403


def test_whom_nobody_may_film_the_officer_does_not_see_either(cast: Cast, clip: Clip):
    film = Consent.Purpose.FILM
    consenting.answer(cast.swimmer, film, is_given=False, by=cast.guardian, at=NOW)

    assert statuses(cast, "welfare", clip) == {404}
    assert "nobody sees it" in read(cast.welfare, address(clip))
    assert "poster.jpg" not in read(cast.welfare, "/footage/")


def test_a_film_of_another_club_is_not_there(cast: Cast, clip: Clip):
    elsewhere = cast.rival_coach.memberships.get().club
    type(cast.squad).objects.filter(pk=cast.squad.pk).update(club=elsewhere)

    assert client_of(cast.welfare).get(address(clip)).status_code == 404
    assert clip.recording.name not in read(cast.welfare, "/footage/")


def test_holding_what_was_thrown_away_does_nothing(cast: Cast, clip: Clip):
    Recording.objects.update(thrown_away_at=NOW)

    assert not holding.hold(clip.recording, by=cast.welfare, at=NOW)
    assert not Entry.objects.filter(thing="hold").exists()


def test_much_film_takes_no_more_queries(cast: Cast, clip: Clip):
    counts = []
    client = client_of(cast.welfare)
    for more in (0, 9):
        for _number in range(more):
            filmed.clip(cast, filmed.ready(cast), cast.mate)
        with CaptureQueriesContext(connection) as asked:
            client.get("/footage/")
        counts.append(len(asked))
    assert counts[0] == counts[1]
