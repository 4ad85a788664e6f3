"""What is written into the outbox, and once only."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from django.conf import settings as django_settings
from django.db import connection
from hypothesis import given
from hypothesis import strategies as st

from portal.mailroom.composing import masked, one_line
from portal.mailroom.models import OutgoingMail
from portal.mailroom.posting import HTML_BYTES, LINE_LENGTH, SUBJECT_LENGTH, post, wrapped
from tests.cast import NOW, Cast

BODY = (
    "<html><head><style>p { color: red; } @media (max-width: 480px) { p { color: blue; } }"
    "</style></head><body><p>{{ words }}</p></body></html>"
)


@pytest.fixture(autouse=True)
def plain_letter(settings, tmp_path) -> None:
    """A kind of mail that prints what it is given."""
    folder = tmp_path / "email" / "plain"
    folder.mkdir(parents=True)
    (folder / "subject.txt").write_text("{% autoescape off %}{{ subject }}{% endautoescape %}\n")
    (folder / "body.txt").write_text("{% autoescape off %}{{ words }}{% endautoescape %}\n")
    (folder / "body.html").write_text(BODY)
    settings.TEMPLATES = [{**django_settings.TEMPLATES[0], "DIRS": [tmp_path]}]


def post_plain(cast: Cast, **context: Any) -> OutgoingMail | None:
    return post(
        cast.guardian,
        club=cast.club,
        kind=OutgoingMail.Kind.NOTES_READY,
        key="notes ready:1:ada",
        template="plain",
        context={"subject": "Ines: notes are ready", "words": "Long & still.", **context},
        at=NOW,
    )


def posted(cast: Cast, **context: Any) -> OutgoingMail:
    mail = post_plain(cast, **context)
    assert mail is not None
    return mail


def test_it_works(cast: Cast):
    mail = posted(cast)
    assert mail.state == OutgoingMail.State.DUE
    assert (mail.recipient, mail.address) == (cast.guardian, "ada.falk@example.org")
    assert mail.subject == "Ines: notes are ready"
    assert mail.text == "Long & still.\n"
    assert "Long &amp; still." in mail.html
    assert mail.created_at == NOW


def test_style_moves_to_the_elements_and_media_rules_stay(cast: Cast):
    mail = posted(cast)
    assert '<p style="color: red' in mail.html
    assert "@media (max-width: 480px)" in mail.html


def test_the_same_key_is_posted_once(cast: Cast):
    first = posted(cast)
    assert post_plain(cast, words="Something else.") is None
    assert list(OutgoingMail.objects.all()) == [first]


@pytest.mark.django_db(transaction=True)
def test_two_posting_at_once_post_one(cast: Cast, monkeypatch):
    """Both have looked for the key before either writes it."""
    looked = threading.Barrier(2, timeout=10)
    monkeypatch.setattr("portal.mailroom.posting.one_line", lambda s: (looked.wait(), s)[1])
    results = []

    def post_now() -> None:
        results.append(post_plain(cast))
        connection.close()

    threads = [threading.Thread(target=post_now) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(result is None for result in results) == [False, True]
    assert OutgoingMail.objects.count() == 1


def test_a_subject_is_one_short_line(cast: Cast):
    mail = posted(cast, subject="Ines\r\nBcc: all@example.org\x00 " + "notes and " * 20)
    assert mail.subject.startswith("Ines Bcc: all@example.org notes and")
    assert mail.subject.isprintable()
    assert len(mail.subject) <= SUBJECT_LENGTH


def test_html_that_would_be_cut_off_is_left_out(cast: Cast):
    mail = posted(cast, words="x" * HTML_BYTES)
    assert mail.html == ""
    assert mail.text.count("x") == HTML_BYTES


def test_long_lines_go_on_under_their_indent():
    text = "Focus\n  " + "glide longer off the wall " * 5
    lines = wrapped(text).splitlines()
    assert len(lines) == 3
    assert all(line.startswith("  ") for line in lines[1:])
    assert max(map(len, lines)) <= LINE_LENGTH


def test_an_address_is_never_broken():
    address = "https://flagline.example.org/" + "notes/" * 20
    assert address in wrapped(f"Read:\n{address}\n").splitlines()


@given(
    st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.sampled_from(" \n"))
)
def test_no_line_is_too_long_and_no_letter_is_lost(text: str):
    result = wrapped(text)
    lines = result.split("\n")
    assert all(len(line) <= LINE_LENGTH or line.lstrip().startswith("http") for line in lines)
    assert "".join(result.split()) == "".join(text.split())


@given(st.text())
def test_one_line_has_no_line_breaks(text: str):
    assert one_line(text).isprintable()


def test_a_masked_address_keeps_its_first_letter_and_domain():
    assert masked("ada.falk@example.org") == "a***@example.org"
