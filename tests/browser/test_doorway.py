"""The door and the pages beside it, as a phone and a desk see them."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import OpenPage, Shot
from tests.cast import assemble
from tests.doorway.letters import PASSWORD, code_for
from tests.factors import app_code

SIZES = [(360, False), (360, True), (1440, False), (1440, True)]
FAULTS = r"status of (400|403|404|429)"


def authenticator(page: Page) -> None:
    """A device that makes passkeys and says that its owner is there."""
    session = page.context.new_cdp_session(page)
    session.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2",
        "transport": "internal",
        "hasResidentKey": True,
        "hasUserVerification": True,
        "isUserVerified": True,
        "automaticPresenceSimulation": True,
    }
    session.send("WebAuthn.addVirtualAuthenticator", {"options": options})


def by_localhost(page: Page) -> str:
    """Passkeys refuse an address of numbers."""
    page.goto("/concern/")
    return str(page.evaluate("location.origin")).replace("127.0.0.1", "localhost")


def test_it_works(open_page: OpenPage):
    """On a phone, without JavaScript."""
    cast = assemble()
    page = open_page(phone=True, script=False)
    page.goto("/sign-in/?next=/concern/")
    page.get_by_label("E-mail").fill(cast.guardian.email)
    page.get_by_role("button", name="Send me a code").click()
    expect(page.get_by_role("heading", name="Type the code from our mail")).to_be_visible()
    page.get_by_label("Code").fill(code_for(cast.guardian))
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("heading", name="Next time without a code?")).to_be_visible()
    page.get_by_role("button", name="Later").click()
    expect(page.get_by_role("heading", name="Wanda Okoro")).to_be_visible()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()


def test_a_wrong_code_is_told_to_a_screen_reader(open_page: OpenPage):
    cast = assemble()
    page = open_page()
    page.goto("/sign-in/")
    page.get_by_label("E-mail").fill(cast.guardian.email)
    page.keyboard.press("Enter")
    page.get_by_label("Code").fill("AAAA-AAAA")
    page.keyboard.press("Enter")
    expect(page.get_by_label("Code")).to_have_accessible_description(
        "Capitals or small letters, with the dash or without. That is not the code in our newest"
        " mail. Two tries left."
    )


def test_a_passkey_is_made_and_opens_the_door(open_page: OpenPage, settings, shot: Shot):
    settings.STAFF_FACTOR = True
    settings.ALLOWED_HOSTS = ["*"]
    cast = assemble()
    page = open_page()
    origin = by_localhost(page)
    settings.CSRF_TRUSTED_ORIGINS = [origin]
    authenticator(page)
    page.goto(f"{origin}/sign-in/")
    page.get_by_label("E-mail").fill(cast.coach.email)
    page.get_by_role("button", name="Send me a code").click()
    page.get_by_label("Code").fill(code_for(cast.coach))
    page.get_by_role("button", name="Go on").click()

    expect(page.get_by_text("code by mail is not enough")).to_be_visible()
    page.get_by_role("link", name="Add a passkey").click()
    page.get_by_role("button", name="Add a passkey").click()
    expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
    shot(page, "recovery-codes", whole=True)
    page.get_by_role("link", name="I have kept them").click()
    expect(page.get_by_role("link", name="Sessions")).to_be_visible()
    page.goto(f"{origin}/you/")
    shot(page, "you", whole=True)
    page.get_by_role("button", name="Sign out").click()

    page.goto(f"{origin}/sign-in/?next=/sessions/")
    page.get_by_role("button", name="Use a passkey").click()
    expect(page).to_have_url(f"{origin}/sessions/")


def test_a_parent_takes_the_offer_and_needs_no_code_next_time(
    open_page: OpenPage, settings, shot: Shot
):
    settings.STAFF_FACTOR = True
    settings.ALLOWED_HOSTS = ["*"]
    cast = assemble()
    page = open_page(phone=True)
    origin = by_localhost(page)
    settings.CSRF_TRUSTED_ORIGINS = [origin]
    authenticator(page)
    page.goto(f"{origin}/sign-in/?next=/concern/")
    page.get_by_label("E-mail").fill(cast.guardian.email)
    page.get_by_role("button", name="Send me a code").click()
    page.get_by_label("Code").fill(code_for(cast.guardian))
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_role("heading", name="Next time without a code?")).to_be_visible()
    page.get_by_role("link", name="Add a passkey").click()
    expect(page.get_by_label("A name for it")).to_have_value("Safari on iPhone")
    page.get_by_role("button", name="Add a passkey").click()
    expect(page).to_have_url(f"{origin}/concern/")
    page.get_by_role("button", name="Sign out").click()

    page.goto(f"{origin}/sign-in/?next=/concern/")
    page.get_by_role("button", name="Use a passkey").click()
    expect(page).to_have_url(f"{origin}/concern/")
    expect(page.get_by_text("You are signed in as Ada Falk.")).to_be_visible()


def test_another_address_is_taken_on_a_small_phone(
    open_page: OpenPage, shot: Shot, assert_accessible
):
    cast = assemble()
    page = open_page(width=360, height=740)
    page.goto("/sign-in/?next=/you/")
    page.get_by_label("E-mail").fill(cast.guardian.email)
    page.get_by_role("button", name="Send me a code").click()
    page.get_by_label("Code").fill(code_for(cast.guardian))
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Later").click()
    page.get_by_role("link", name="Change your address").click()
    page.get_by_label("New e-mail address").fill("a.rather.long.name.for.ada@lake.example.org")
    assert_roomy(page, "address")
    page.get_by_role("button", name="Send a code there").click()
    page.get_by_label("Code").fill("AAAA-AAAA")
    page.get_by_role("button", name="Change my address").click()
    expect(page.get_by_text("Two tries left.")).to_be_visible()
    shot(page, "address-code-wrong-360", whole=True)
    assert_accessible(page)
    assert_roomy(page, "address code")
    page.get_by_label("Code").fill(code_for(cast.guardian))
    page.get_by_role("button", name="Change my address").click()
    expect(page.get_by_text("a.rather.long.name.for.ada@lake.example.org")).to_be_visible()
    assert_accessible(page)
    assert_roomy(page, "account")


def test_a_demo_person_is_two_clicks_away(open_page: OpenPage, settings):
    settings.DEMO = True
    cast = assemble()
    cast.club.is_demo = True
    cast.club.save()
    page = open_page()
    page.goto("/concern/")
    page.get_by_role("link", name="Sign in").click()
    page.get_by_role("link", name="Choose a person").click()
    page.get_by_role("button", name="Ada Falk").click()
    page.goto("/concern/")
    expect(page.get_by_text("You are signed in as Ada Falk.")).to_be_visible()


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_are_sound(
    open_page: OpenPage, shot: Shot, assert_accessible, settings, width: int, dark: bool
):
    settings.DEMO = True
    cast = assemble()
    cast.club.is_demo = True
    cast.club.save()
    stranger = open_page(width=width, height=800, dark=dark, forgive=FAULTS)
    guardian = open_page(cast.guardian, width=width, height=800, dark=dark)
    asking = open_page(width=width, height=800, dark=dark)
    asking.goto("/sign-in/?really=1")
    asking.get_by_label("E-mail").fill(cast.guardian.email)
    asking.get_by_role("button", name="Send me a code").click()
    asking.get_by_label("Code").fill("AAAA-AAAA")
    asking.get_by_role("button", name="Go on").click()
    for page, name, address in [
        (stranger, "step-in", "/sign-in/"),
        (stranger, "sign-in", "/sign-in/?really=1"),
        (stranger, "sign-in-password", "/sign-in/password/"),
        (asking, "code-wrong", ""),
        (guardian, "offer", "/you/offer/"),
        (guardian, "again", "/sign-in/again/?next=/you/password/"),
        (stranger, "demo", "/demo/"),
        (stranger, "concern-stranger", "/concern/"),
        (guardian, "concern", "/concern/"),
        (stranger, "nothing", "/nothing/"),
    ]:
        if address:
            page.goto(address)
        shot(page, f"{name}-{width}{'-dark' if dark else ''}", whole=True)
        assert_accessible(page)
        assert_roomy(page, name)
    asking.get_by_role("button", name="Send me a new code").click()
    expect(asking.get_by_text("A new code is on its way.")).to_be_visible()
    assert_accessible(asking)


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_the_pages_of_an_account_are_sound(
    open_page: OpenPage, shot: Shot, assert_accessible, settings, width: int, dark: bool
):
    settings.STAFF_FACTOR = True
    cast = assemble()
    page = open_page(width=width, height=800, dark=dark)
    page.goto("/sign-in/password/")
    page.get_by_label("E-mail").fill(cast.coach.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_text("code by mail is not enough")).to_be_visible()
    for name, address in [
        ("account", "/you/"),
        ("account-passkey", "/you/passkeys/add/"),
        ("account-address", "/you/address/"),
        ("account-password", "/you/password/"),
        ("account-app", "/you/app/"),
        ("account-codes", ""),
        ("account-with-app", "/you/"),
        ("account-app-remove", "/you/app/remove/"),
        ("account-codes-new", "/you/recovery-codes/new/"),
        ("account-second", "/sign-in/second/"),
    ]:
        if name == "account-codes":
            page.get_by_label("Code").fill(app_code(page.locator(".address").inner_text()))
            page.get_by_role("button", name="Switch it on").click()
            expect(page.get_by_role("heading", name="Recovery codes")).to_be_visible()
        if name == "account-second":
            page.get_by_role("button", name="Sign out").click()
            page.goto("/sign-in/password/")
            page.get_by_label("E-mail").fill(cast.coach.email)
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Sign in").click()
            expect(page.get_by_role("heading", name="The second step")).to_be_visible()
        elif address:
            page.goto(address)
        shot(page, f"{name}-{width}{'-dark' if dark else ''}", whole=True)
        assert_accessible(page)
        assert_roomy(page, name)


def assert_roomy(page: Page, name: str) -> None:
    """Nothing runs over the side, and a finger meets what it aims at."""
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert page.evaluate(wide) == 0, name
    # Boxes and dots are hit by their label, and what is for the browser alone by nobody.
    fields = "main input:not([type=hidden], [type=radio], [type=checkbox], .unseen)"
    small = page.eval_on_selector_all(
        f"main a, main button, {fields}, header a, footer button",
        "all => all.filter(e => e.offsetParent && e.getBoundingClientRect().height < 44)"
        ".map(e => e.outerHTML)",
    )
    assert small == [], name


@pytest.mark.parametrize(("width", "dark"), SIZES)
def test_a_refused_try(open_page: OpenPage, shot: Shot, assert_accessible, width: int, dark: bool):
    page = open_page(width=width, height=800, dark=dark)
    page.goto("/sign-in/")
    page.get_by_role("button", name="Send me a code").click()
    expect(page.get_by_label("E-mail")).to_have_accessible_description(
        "The address is missing. Type the one your club has for you."
    )
    shot(page, f"sign-in-wrong-{width}{'-dark' if dark else ''}", whole=True)
    assert_accessible(page)
