from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from portal.audit.models import Entry
from portal.jobs.models import Job
from portal.kit.storage import path_of
from portal.reports import sheets
from portal.reports.models import Sheet
from portal.review import publishing
from portal.review.models import Review
from tests.cast import NOW, Cast, signed_in
from tests.reports.conftest import ask


def page_of(cast: Cast) -> str:
    return reverse("reports:sheet", args=[cast.session.code])


def pdf_of(sheet: Sheet) -> str:
    return reverse("reports:pdf", args=[sheet.code])


@pytest.fixture
def sheet(cast: Cast, out_in_words) -> Sheet:
    made = ask(cast)
    sheets.make(made, at=NOW)
    made.refresh_from_db()
    return made


def test_it_works(as_coach: Client, cast: Cast, out_in_words):
    assert b"It will hold the one published review" in as_coach.get(page_of(cast)).content

    answer = as_coach.post(page_of(cast))

    assert (answer.status_code, answer.headers["Location"]) == (302, page_of(cast))
    sheet, job = Sheet.objects.get(), Job.objects.get(kind="reports.make_sheet")
    assert (job.key, job.queue) == (f"sheet:{sheet.code}", "default")
    assert job.payload == {"sheet": str(sheet.code)}
    text = as_coach.get(page_of(cast)).content.decode()
    assert "The sheet is being set." in text
    assert 'hx-trigger="every 2s"' in text
    assert Entry.objects.filter(action=Entry.Action.MADE, thing_code=sheet.code).exists()


def test_the_sheet_is_handed_out(as_coach: Client, cast: Cast, sheet: Sheet):
    text = as_coach.get(page_of(cast)).content.decode()
    assert "Made on Thu 19 Nov 2026 at 18:30 for Marta Lind." in text
    assert pdf_of(sheet) in text

    answer = as_coach.get(pdf_of(sheet))

    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Cache-Control"] == "private, no-cache"
    assert answer.getvalue() == path_of(str(sheet.file)).read_bytes()
    assert Entry.objects.filter(action=Entry.Action.SAW, thing_code=sheet.code).exists()


def test_asking_twice_while_it_is_set_asks_once(as_coach: Client, cast: Cast, out_in_words):
    as_coach.post(page_of(cast))
    as_coach.post(page_of(cast))

    assert Sheet.objects.count() == Job.objects.filter(kind="reports.make_sheet").count() == 1


def test_asking_anew_when_one_stands(as_coach: Client, cast: Cast, sheet: Sheet):
    as_coach.post(page_of(cast))

    assert Sheet.objects.count() == 2


def test_nothing_out_cannot_be_asked_for(as_coach: Client, cast: Cast):
    assert b"No review of this session is out." in as_coach.get(page_of(cast)).content

    as_coach.post(page_of(cast))

    assert not Sheet.objects.exists()


def test_what_changed_since_is_not_handed_out(as_coach: Client, cast: Cast, sheet: Sheet):
    publishing.take_back(Review.objects.get(), by=cast.coach, at=NOW)

    answer = as_coach.get(pdf_of(sheet))

    assert (answer.status_code, answer.headers["Location"]) == (302, page_of(cast))
    assert b"Something has changed since the last sheet" in as_coach.get(page_of(cast)).content


def test_one_that_is_still_to_be_made_leads_to_its_page(as_coach: Client, cast: Cast, out_in_words):
    assert as_coach.get(pdf_of(ask(cast))).status_code == 302


def test_a_problem_is_shown_and_can_be_tried_again(as_coach: Client, cast: Cast, out_in_words):
    as_coach.post(page_of(cast))
    said = "Sheets cannot be made on this machine: apt-get install libpango-1.0-0"
    Job.objects.filter(kind="reports.make_sheet").update(state=Job.State.FAILED, problem=said)

    text = as_coach.get(page_of(cast)).content.decode()
    assert said in text
    assert "Try again" in text

    as_coach.post(page_of(cast))
    assert Job.objects.filter(kind="reports.make_sheet", state=Job.State.QUEUED).count() == 1


def test_a_sheet_whose_job_is_lost_is_not_waited_for(as_coach: Client, cast: Cast, out_in_words):
    ask(cast)

    assert b"It could not be made." in as_coach.get(page_of(cast)).content


def test_htmx_gets_the_part_alone(as_coach: Client, cast: Cast, out_in_words):
    as_coach.post(page_of(cast))

    text = as_coach.get(page_of(cast), headers={"HX-Request": "true"}).content.decode()

    assert text.lstrip().startswith("<section")
    assert "The sheet is being set." in text


@pytest.mark.parametrize(
    ("person", "status"),
    [
        ("head_coach", 200),
        ("assistant", 403),
        ("other_coach", 404),
        ("rival_coach", 404),
        ("welfare", 404),
        ("second_adult", 404),
        ("guardian", 404),
        ("swimmer_user", 404),
    ],
)
def test_a_sheet_is_the_coaches(cast: Cast, sheet: Sheet, person: str, status: int):
    client = signed_in(getattr(cast, person))

    assert client.get(page_of(cast)).status_code == status
    assert client.get(pdf_of(sheet)).status_code == status
    assert client.post(page_of(cast)).status_code == (302 if status == 200 else status)


def test_the_session_page_leads_there(as_coach: Client, cast: Cast):
    where = reverse("recordings:session", args=[cast.session.code])

    assert page_of(cast) in as_coach.get(where).content.decode()
    assert page_of(cast) not in signed_in(cast.assistant).get(where).content.decode()


def test_the_page_costs_few_queries(as_coach: Client, cast: Cast, out):
    sheets.make(ask(cast), at=NOW)

    with CaptureQueriesContext(connection) as spent:
        page = as_coach.get(page_of(cast))

    assert b"Open the sheet" in page.content
    assert len(spent) <= 12
