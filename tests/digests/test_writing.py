"""What a family reads, in both forms."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from django.conf import settings
from django.db import connection
from django.test.utils import CaptureQueriesContext

from portal.digests import planning
from portal.digests.writing import MOST_POINTS, days_in_words
from portal.mailroom import stopping
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import HTML_BYTES, LINE_LENGTH
from portal.people.models import User
from portal.review.models import Review
from tests.cast import DAY, NOW, Cast
from tests.digests.practice import (
    DUE,
    PRAISE,
    add_sibling,
    correction,
    publish,
    warning,
    weekly,
)
from tests.notes import staging


def evening(cast: Cast) -> Review:
    return publish(
        cast,
        PRAISE,
        correction("Ride the line longer.", cue="Be long.", drill=staging.drill(), dose="6 x 15"),
        correction("Chin down."),
        warning("The feet beat down twice."),
        focus=1,
    )


def ada(cast: Cast) -> OutgoingMail:
    return weekly(planning.plan(DUE))["Ada"]


def seen(html: str) -> str:
    """What a mail program would show, on one line."""
    return re.sub(r"\s+", " ", re.sub(r"<style.*?</style>|<[^>]+>", " ", html, flags=re.S))


def assert_in_order(text: str, said: list[str]) -> None:
    flat, place = " ".join(text.split()), 0
    for sentence in said:
        place = flat.find(sentence, place)
        assert place >= 0, f"{sentence!r} is missing or comes too early"


def test_it_works(cast: Cast):
    evening(cast)
    assert_in_order(
        ada(cast).text,
        [
            "THE WEEK OF 16 TO 22 NOVEMBER",
            "Notes on Ines.",
            "INES",
            "Thursday 19 November, Quay Street. Checked by Marta Lind.",
            "Going well * Heels close to the hips",
            "Heels right up, every kick.",
            "The one focus * Patient line off the wall",
            "Ride the line longer.",
            "Think: Be long.",
            "Drill: Push and ride, 6 x 15 Push off and do nothing else.",
            "Take care: Come up whenever you like.",
            "Working on * Patient line off the wall",
            "Chin down.",
            "Looks not legal * One small dolphin",
            "The feet beat down twice.",
            "not an official’s decision",
            "Rule: One dolphin kick, World Aquatics, edition of 2017 to 2023 (not checked against "
            "the current book). A single butterfly kick is allowed.",
            f"{settings.PUBLIC_ADDRESS}/notes/",
            f"{settings.PUBLIC_ADDRESS}/concern/",
            "Your club’s rules, the lifeguards and medical advice come before",
        ],
    )


def test_the_html_part_says_the_same(cast: Cast):
    evening(cast)
    publish(cast, of=add_sibling(cast, "Jonas Falk"), on=date(2026, 11, 17))
    mail = ada(cast)
    body = mail.text.split("-----")[0]
    html = " ".join(seen(mail.html).replace(",", "").split()).lower()
    for line in re.split(r"\n+(?!   )", body):
        words = " ".join(line.replace("*", "").replace(",", "").split()).lower()
        assert words.replace("take care:", "take care.") in html


def test_the_html_part_fetches_nothing_and_links_to_three_pages(cast: Cast):
    evening(cast)
    mail = ada(cast)
    html = mail.html
    assert not re.search(r"<(img|link|script|iframe)|\bsrc=|url\(|@import|cid:", html, re.I)
    links = set(re.findall(r'(?:href|action|background)="([^"]*)"', html))
    stop = stopping.address(cast.guardian, OutgoingMail.Kind.WEEKLY)
    assert links == {
        f"{settings.PUBLIC_ADDRESS}/notes/",
        f"{settings.PUBLIC_ADDRESS}/concern/",
        stop,
    }
    assert stop in mail.text
    assert "prefers-color-scheme: dark" in html


def test_no_line_of_text_is_long(cast: Cast):
    evening(cast)
    lines = ada(cast).text.splitlines()
    assert all(len(line) <= LINE_LENGTH or "://" in line for line in lines)


def test_no_surname_of_a_child_and_no_address(cast: Cast):
    evening(cast)
    mail = ada(cast)
    whole = mail.subject + mail.text + mail.html
    assert "Falk" not in whole
    for user in User.objects.all():
        assert user.email not in whole


def test_a_focus_that_looks_not_legal_says_so(cast: Cast):
    publish(cast, warning("Two of them."), focus=0)
    mail = ada(cast)
    for form in (mail.text, seen(mail.html)):
        assert_in_order(form, ["The one focus", "Two of them.", "It looks not legal."])
        assert "Looks not legal" not in form


def test_the_newest_reviews_focus_is_the_one(cast: Cast):
    publish(cast, correction("Old aim."), on=date(2026, 11, 17), focus=0)
    publish(cast, correction("New aim."), focus=0)
    assert_in_order(
        ada(cast).text, ["The one focus", "(19 November)", "New aim.", "Working on", "Old aim."]
    )


def test_a_child_without_news_has_one_line_beside_one_with_news(cast: Cast):
    add_sibling(cast, "Aino Falk")
    evening(cast)
    mail = ada(cast)
    assert mail.subject == "Ines at the pool, 16 to 22 November"
    for form in (mail.text, seen(mail.html)):
        assert_in_order(
            form,
            ["Notes on Ines. Nothing new on Aino.", "not good and not bad."],
        )
    assert mail.text.index("INES") < mail.text.index("AINO")


def test_a_dropped_comment_is_not_told(cast: Cast):
    review = evening(cast)
    review.comments.filter(words="Chin down.").update(dropped_at=NOW)
    mail = ada(cast)
    assert "Chin down" not in mail.text + mail.html


def practised(cast: Cast, *verdicts: str) -> str:
    """What is said in the last of a row of practices a week apart, newest on the Thursday."""
    weeks = len(verdicts)
    for number, verdict in enumerate(verdicts, 1):
        past = timedelta(weeks=weeks - number)
        said = {
            "bad": [correction(f"Line {number}.")],
            "good": [{"words": f"Line {number}.", "checkpoint": staging.fault().checkpoint}],
            "other": [PRAISE],
        }[verdict]
        publish(cast, *said, on=DAY - past, at=NOW - past)
    OutgoingMail.objects.all().delete()
    text = " ".join(ada(cast).text.split())
    return text.split(f"Line {weeks}.")[1] if "Line" in text else text


@pytest.mark.parametrize(
    ("verdicts", "said"),
    [
        (["bad", "bad"], "This came up in 2 of the last 2 sessions where somebody looked."),
        (["bad", "good", "bad"], "This came up in 2 of the last 3 sessions"),
        (["bad", "other", "bad"], "This came up in 2 of the last 2 sessions"),
        (["good"] * 2 + ["bad"] * 4, "This came up in 4 of the last 5 sessions"),
        (["good", "good", "good"], "Good the last 3 times somebody looked."),
        (["bad", "good", "good"], "Good the last 2 times somebody looked."),
    ],
)
def test_how_often_it_was_seen(cast: Cast, verdicts: list[str], said: str):
    assert said in practised(cast, *verdicts)


@pytest.mark.parametrize("verdicts", [["bad"], ["good"], ["other", "bad"]])
def test_one_look_says_nothing(cast: Cast, verdicts: list[str]):
    said = practised(cast, *verdicts)
    assert "came up" not in said
    assert "Good the last" not in said


def test_an_older_correction_that_is_good_now_says_so(cast: Cast):
    publish(cast, correction("Line 1."), on=date(2026, 11, 17))
    publish(cast, {"words": "Line 2.", "checkpoint": staging.fault().checkpoint})
    flat = " ".join(ada(cast).text.split())
    assert "This came up in 1 of the last 2 sessions where somebody looked. It was good" in flat
    assert "Good the last" not in flat


def test_what_comes_after_the_hour_is_not_counted(cast: Cast):
    publish(cast, correction("Line 1."))
    publish(cast, correction("Line 2."), on=date(2026, 11, 21), at=DUE)
    assert "came up" not in weekly(planning.plan(DUE + timedelta(minutes=4)))["Ada"].text


@pytest.mark.parametrize(
    ("names", "subject"),
    [
        (["Jonas"], "Ines and Jonas at the pool, 16 to 22 November"),
        (["Aino", "Jonas"], "Aino, Ines and Jonas at the pool, 16 to 22 November"),
        (["Bartholomea", "Maximiliane"], "Your swimmers at the pool, 16 to 22 November"),
    ],
)
def test_the_subject_names_those_with_news(cast: Cast, names: list[str], subject: str):
    publish(cast)
    for name in names:
        publish(cast, of=add_sibling(cast, f"{name} Falk"))
    assert ada(cast).subject == subject


def test_a_very_long_name_is_left_out_of_the_subject(cast: Cast):
    cast.swimmer.first_name = "Wilhelmina " * 5
    cast.swimmer.save()
    publish(cast)
    assert ada(cast).subject == "Your swimmer at the pool, 16 to 22 November"


def test_days_over_the_end_of_a_month():
    assert days_in_words(date(2026, 11, 30), date(2026, 12, 6)) == "30 November to 6 December"


def test_words_are_words_and_nothing_else(cast: Cast):
    nasty = '</td><script>alert(1)</script> {{ 7|add:1 }} & "x"\r\nBcc: all@example.org'
    cast.swimmer.first_name = "Ines</title>\nBcc: x"
    cast.swimmer.save()
    publish(cast, {"words": nasty})
    mail = ada(cast)
    assert "<script" not in mail.html
    assert mail.html.count("</title>") == 1
    assert '<script>alert(1)</script> {{ 7|add:1 }} & "x"' in " ".join(mail.text.split())
    assert "\n" not in mail.subject


@pytest.mark.parametrize("words", ["Longer glide.", "Hold the line & ride it. " * 40])
@pytest.mark.parametrize("has_drill", [False, True], ids=["bare", "with a drill"])
@pytest.mark.parametrize("children", [1, 5])
def test_500_notes_fit(cast: Cast, words: str, has_drill: bool, children: int):
    drill = staging.drill() if has_drill else None
    names = ["Ada", "Bo", "Cy", "Di"]
    swimmers = [cast.swimmer, *(add_sibling(cast, f"{n} Falk") for n in names[: children - 1])]
    for swimmer in swimmers:
        publish(
            cast,
            *(correction(f"{n}: {words}", drill=drill) for n in range(500 // children)),
            of=swimmer,
            focus=0,
        )
    mail = ada(cast)
    size = len(mail.html.encode())
    assert 30_000 < size < HTML_BYTES
    flat = " ".join(mail.text.split())
    assert all(flat.count(f" {n}: {words[:12]}") == children for n in range(500 // children))
    html = seen(mail.html)
    shown = html.count(f": {words[:12].replace('&', '&amp;')}")
    assert shown <= MOST_POINTS * children
    left_out = [int(number) for number in re.findall(r"And (\d+) more:", html)]
    assert sum(left_out) == 500 - shown
    assert html.count("The one focus") == children


def test_many_notes_cost_as_many_queries_as_few(cast: Cast, django_assert_num_queries):
    evening(cast)
    with CaptureQueriesContext(connection) as few:
        planning.plan(DUE)
    OutgoingMail.objects.all().delete()
    publish(cast, *(correction(f"{n}.") for n in range(100)), on=date(2026, 11, 17))
    with django_assert_num_queries(len(few)):
        planning.plan(DUE)
