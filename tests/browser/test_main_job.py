"""The evening of a coach, from sign-in to the mail in a parent's hand, on the running portal."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path

import pytest
from aiosmtpd.controller import Controller
from playwright.sync_api import Browser, Page, expect

from tests.browser.served import Portal, running
from tests.browser.test_doorway import authenticator
from tests.mailroom.relay import free_port
from tests.media import film


class Postbox:
    """What a real SMTP server received."""

    def __init__(self) -> None:
        self.mails: list[EmailMessage] = []

    async def handle_DATA(self, server, session, envelope) -> str:
        mail = message_from_bytes(envelope.content, policy=policy.default)
        assert isinstance(mail, EmailMessage)
        assert envelope.rcpt_tos == [mail["To"].addresses[0].addr_spec]
        self.mails.append(mail)
        return "250 OK"

    def notes_to(self, address: str) -> list[EmailMessage]:
        return [mail for mail in self.notes if mail["To"].addresses[0].addr_spec == address]

    @property
    def notes(self) -> list[EmailMessage]:
        return [mail for mail in self.mails if "notes from" in mail["Subject"]]

    @property
    def codes(self) -> list[str]:
        """Oldest first."""
        texts = [str(mail) for mail in self.mails if mail["Subject"] == "Your sign-in code"]
        return [re.findall(r"\b[A-Z0-9]{4}-[A-Z0-9]{4}\b", text)[0] for text in texts]


@pytest.fixture
def postbox() -> Iterator[tuple[Postbox, int]]:
    box = Postbox()
    controller = Controller(box, hostname="127.0.0.1", port=free_port())
    controller.start()
    yield box, controller.port
    controller.stop()


def until(found: Callable[[], object], *, seconds: float = 40) -> None:
    end = time.monotonic() + seconds
    while not found():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.2)


def sign_in(page: Page, address: str, box: Postbox) -> None:
    before = len(box.codes)
    page.goto("/sign-in/")
    page.get_by_label("E-mail").fill(address)
    page.get_by_role("button", name="Send me a code").click()
    until(lambda: len(box.codes) > before)
    page.get_by_label("Code").fill(box.codes[-1])
    page.get_by_role("button", name="Go on").click()
    page.wait_for_url(re.compile(r"^(?!.*/sign-in/)"))
    if "/you/offer/" in page.url:
        page.get_by_role("button", name="Later").click()


def make_passkey(page: Page) -> None:
    """As staff must before anything else opens."""
    authenticator(page)
    page.get_by_role("link", name="Add a passkey").click()
    page.get_by_role("button", name="Add a passkey").click()
    page.get_by_role("link", name="I have kept them").click()


def test_it_works(chromium: Browser, tmp_path: Path, postbox: tuple[Postbox, int]):
    box, port = postbox
    take = film(tmp_path / "lane 4.mp4", frames=240, rate=30)
    mail = {"FLAGLINE_SMTP_HOST": "127.0.0.1", "FLAGLINE_SMTP_PORT": str(port)}
    with running(tmp_path / "data", mail) as portal:
        address = portal.address
        coach = chromium.new_context(base_url=address).new_page()
        coach.set_default_timeout(15_000)
        sign_in(coach, "marta.lind@example.org", box)
        make_passkey(coach)
        open_session(coach)
        bring_in(coach, take)
        cut_for(coach, "Ines Falk")
        comment_and_publish(coach, portal)

        until(lambda: len(box.notes) == 3)
        [mine] = box.notes_to("ada.falk@example.org")
        assert len(box.notes_to("bela.korda@example.org")) == 1
        assert len(box.notes_to("ines.falk@example.org")) == 1
        assert not box.notes_to("curt.blum@example.org"), "a former guardian gets nothing"

        notes = read_mail(mine)
        family = chromium.new_context(
            base_url=address, viewport={"width": 360, "height": 740}, has_touch=True
        ).new_page()
        sign_in(family, "ada.falk@example.org", box)
        read_notes(family, notes)


def open_session(page: Page) -> None:
    page.goto("/sessions/new/")
    page.get_by_label("Theme").fill("kick and walls")
    page.get_by_role("button", name=re.compile("Open|Begin|Make|Create|Keep|Save")).click()
    page.wait_for_url(re.compile(r"/sessions/[0-9a-f-]{36}/"))


def bring_in(page: Page, take: Path) -> None:
    page.locator("input[type=file]").set_input_files(take)
    page.get_by_role("link", name=re.compile("^Sort")).first.click(timeout=60_000)
    page.wait_for_url(re.compile("/recordings/"))


def cut_for(page: Page, swimmer: str) -> None:
    page.get_by_label("in frame").fill("30")
    page.get_by_label("out frame").fill("209")
    page.get_by_label(swimmer).check()
    page.get_by_label("breaststroke").check()
    page.get_by_label("side, under water").check()
    page.get_by_label("race pace").check()
    page.locator("#keep").click()
    page.get_by_role("link", name=re.compile("go to review")).click()
    page.wait_for_url(re.compile("/clips/"))


def comment_and_publish(page: Page, portal: Portal) -> None:
    stage = page.locator(".stage")
    expect(page.get_by_text(re.compile("of 210|of 180|frame 30")).first).to_be_visible()
    stage.click()
    for _ in range(3):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("g")
    say(page, tag="heel", words="Heels come right up before the feet turn out.")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("w")
    page.locator("#tag").press_sequentially("knee")
    page.keyboard.press("Enter")
    write_through_a_crash(page, portal, "The knees open wider than the hips, so the push is short.")
    expect(page.locator("[data-list] li")).to_have_count(2)
    page.get_by_role("link", name=re.compile("Check and publish")).click()
    page.get_by_role("button", name=re.compile("Publish", re.I)).click()
    expect(page.get_by_text(re.compile("The notes for Ines Falk are out"))).to_be_visible()


def write_through_a_crash(page: Page, portal: Portal, words: str) -> None:
    """The server dies in the middle of the sentence, and the page is loaded again once it is back:
    no word is lost, and nothing is there twice."""
    kept, lost = words[:20], words[20:]
    page.keyboard.type(kept)
    expect(page.locator("[data-kept]")).to_contain_text("kept")
    portal.kill()
    page.keyboard.type(lost)
    expect(page.get_by_text("No connection.")).to_be_visible()
    portal.start_again()
    page.reload()
    row = page.locator("[data-list] li", has_text=words)
    expect(row).to_be_visible()
    expect(row).to_have_count(1)


def say(page: Page, *, tag: str, words: str) -> None:
    finder = page.locator("#tag")
    finder.press_sequentially(tag)
    page.keyboard.press("Enter")
    page.locator("#words").fill(words)
    page.keyboard.press("Control+Enter")
    expect(page.locator("[data-slip]")).to_be_hidden()


def read_mail(mail: EmailMessage) -> str:
    """All that matters stands in the text; gives the address of the notes."""
    plain = mail.get_body(("plain",))
    assert plain is not None
    text = plain.get_content()
    assert "The knees open wider than the hips" in " ".join(text.split())
    assert "Heels come right up" in " ".join(text.split())
    assert "Report a concern" in text
    assert "Falk" not in mail["Subject"]
    link = re.search(r"https?://\S+(/notes/[0-9a-f-]{36}/)", text)
    assert link
    return link.group(1)


def read_notes(page: Page, notes: str) -> None:
    page.goto(notes)
    expect(page.get_by_text("The knees open wider than the hips")).to_be_visible()
    still = page.locator("img").first
    still.scroll_into_view_if_needed()
    until(lambda: still.evaluate("e => e.complete && e.naturalWidth > 0"))
    play = page.get_by_role("button", name=re.compile("Play", re.I)).first
    until(lambda: page.reload() and play.count() > 0)
    play.click()
    video = page.locator("video").first
    until(lambda: video.evaluate("v => v.readyState >= 2 && v.videoWidth > 0"))
