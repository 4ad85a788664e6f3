"""What is drawn looks the same in the page, without script, and on the server's still."""

from __future__ import annotations

from base64 import b64encode
from dataclasses import asdict
from io import BytesIO
from typing import Any

import numpy as np
import pytest
from django.template import engines
from PIL import Image
from playwright.sync_api import Locator, Page, expect
from scipy.ndimage import gaussian_filter  # type: ignore[import-untyped]

from portal.recordings.models import Clip
from portal.review import chalk, drawing, publishing
from portal.review.models import Comment
from tests.cast import NOW, Cast
from tests.notes import staging
from tests.review.drawings import SIX, Json
from tests.review.drawings import drawing as of

WIDE, HIGH = 960, 540

SHOW = """
async ([ground, drawing]) => {
  const { makeCanvas, paint } = await import("/static/js/drawing/svg.js");
  const link = document.head.appendChild(document.createElement("link"));
  const styled = new Promise((done) => (link.onload = done));
  Object.assign(link, { rel: "stylesheet", href: "/static/css/drawing.css" });
  const picture = new Image();
  picture.src = ground;
  const holder = document.createElement("div");
  if (typeof drawing === "string") holder.innerHTML = drawing;
  const canvas = holder.firstElementChild ?? makeCanvas(drawing.aspect);
  for (const node of [picture, canvas]) {
    Object.assign(node.style, {
      position: "fixed", inset: "0", width: "960px", height: "540px", zIndex: "99",
    });
  }
  document.body.replaceChildren(picture, canvas);
  if (drawing.shapes) paint(canvas, drawing.shapes, drawing.aspect);
  await Promise.all([styled, picture.decode(), document.fonts.load("600 30px Literata", "aü")]);
}
"""


@pytest.fixture
def empty_page(open_page) -> Page:
    page: Page = open_page(width=WIDE, height=HIGH)
    page.goto("/sign-in/")
    return page


def water() -> Image.Image:
    """Bright above, dark below, with a soft grain: as ink meets it under water."""
    y, x = np.mgrid[0:HIGH, 0:WIDE]
    light = 235 - 200 * (y / HIGH) + 10 * np.sin(x / 17) * np.cos(y / 23)
    tint = np.stack([light * 0.72, light * 0.93, light], axis=-1)
    return Image.fromarray(tint.clip(0, 255).astype(np.uint8), "RGB")


def as_address(picture: Image.Image) -> str:
    out = BytesIO()
    picture.save(out, "PNG")
    return f"data:image/png;base64,{b64encode(out.getvalue()).decode()}"


def ssim(one: np.ndarray, other: np.ndarray) -> float:
    """Mean structural similarity of two grey pictures: Wang, Bovik, Sheikh and Simoncelli, 2004,
    with their gaussian window of 1.5 pixels and constants K1 0.01, K2 0.03."""

    def blur(picture: np.ndarray) -> np.ndarray:
        blurred: np.ndarray = gaussian_filter(picture, 1.5, truncate=3.5)
        return blurred

    mean_a, mean_b = blur(one), blur(other)
    var_a, var_b = blur(one**2) - mean_a**2, blur(other**2) - mean_b**2
    both = blur(one * other) - mean_a * mean_b
    c1, c2 = (0.01 * 255) ** 2, (0.03 * 255) ** 2
    likeness = ((2 * mean_a * mean_b + c1) * (2 * both + c2)) / (
        (mean_a**2 + mean_b**2 + c1) * (var_a + var_b + c2)
    )
    return float(likeness.mean())


def in_browser(page: Page, made: Json | str, ground: Image.Image) -> Image.Image:
    """`made` is a drawing, or SVG that the server wrote."""
    page.evaluate(SHOW, [as_address(ground), made])
    shot = page.screenshot(clip={"x": 0, "y": 0, "width": WIDE, "height": HIGH})
    return Image.open(BytesIO(shot)).convert("RGB")


def unlike(seen: Image.Image, other: Image.Image) -> tuple[float, float]:
    """Likeness of their greys, and the mean difference of a channel in steps of 255."""
    a, b = np.asarray(seen, dtype=float), np.asarray(other, dtype=float)
    return ssim(a.mean(axis=-1), b.mean(axis=-1)), float(np.abs(a - b).mean())


def test_the_still_is_painted_as_the_page_is(empty_page: Page):
    for name, made in SIX.items():
        seen = in_browser(empty_page, made, water())
        still = water()
        drawing.paint(still, chalk.read(made))

        likeness, error = unlike(seen, still)
        _, drawn = unlike(water(), still)
        assert likeness >= 0.996, name
        assert error <= 0.45, name
        assert drawn > 10 * error, f"{name}: both differ far more from nothing than from each other"


def test_the_page_without_script_paints_it_too(empty_page: Page):
    seen = in_browser(empty_page, SIX["mixed"], water())
    template = engines["django"].from_string("{% load chalking %}{% chalk made %}")
    again = in_browser(empty_page, template.render({"made": SIX["mixed"]}), water())

    likeness, error = unlike(seen, again)
    assert likeness >= 0.999
    assert error <= 0.05


def any_shape(chance: np.random.Generator) -> Json:
    kind = str(chance.choice(list(chalk.POINTS)))
    fewest, most = chalk.POINTS[kind]
    count = int(chance.integers(fewest, min(most, 9), endpoint=True))
    own: dict[str, Json] = {
        "text": {"s": "Heels", "h": 0.06},
        "angle": {"e": round(chance.uniform(0.001, 0.02), 5)},
    }
    points = chance.uniform(-0.05, 1.05, (count, 2)).round(5).tolist()
    return {"k": kind, "p": points, "w": round(chance.uniform(0.001, 0.05), 5), **own.get(kind, {})}


def flat(parts: dict[str, Any]) -> list[Any]:
    """Words and numbers of what is painted, in one order; an absent part is an empty one."""
    lines = parts["lines"] or []
    letters = [each for each in (parts.get("letters"), parts.get("figure")) if each]
    return [
        *[number for line in lines for number in (line["width"], *np.ravel(line["points"]))],
        *np.ravel(parts.get("head") or []),
        *np.ravel(parts.get("scrap") or []),
        parts.get("casing") or 0,
        *[number for each in letters for number in (*each["at"], each["size"])],
        *[each["words"] for each in letters],
    ]


def test_page_and_server_work_out_the_same_points(empty_page: Page):
    """Of shapes by chance, on frames of any form."""
    chance = np.random.default_rng(4)
    made = [any_shape(chance) for _ in range(600)]
    aspects = chance.uniform(0.4, 2.4, 600).round(5).tolist()
    told = empty_page.evaluate(
        "async ([made, aspects]) => {"
        'const {painted} = await import("/static/js/drawing/shapes.js");'
        "return made.map((one, at) => painted(one, aspects[at]));}",
        [made, aspects],
    )

    for one, aspect, seen in zip(made, aspects, told, strict=True):
        [parts] = chalk.painted(chalk.read(of(one, aspect=aspect)))
        words = [each for each in flat(seen) if isinstance(each, str)]
        numbers = [each for each in flat(seen) if not isinstance(each, str)]
        expected = flat(asdict(parts))
        assert words == expected[len(numbers) :], one
        assert np.allclose(numbers, expected[: len(numbers)], atol=1e-6), one


def test_angles_in_the_page_are_those_of_numpy(empty_page: Page):
    """In pixels of a frame, whatever its form; the figure says what the server says."""
    chance = np.random.default_rng(8)
    made = [
        {"k": "angle", "p": chance.uniform(0, 1, (3, 2)).round(5).tolist(), "w": 0.01, "e": 0.006}
        for _ in range(1000)
    ]
    aspects = chance.uniform(0.5, 2, 1000).round(5).tolist()
    told = empty_page.evaluate(
        "async ([made, aspects]) => {"
        'const {degrees, figure} = await import("/static/js/drawing/shapes.js");'
        "return made.map((one, at) => [degrees(one, aspects[at]), figure(one, aspects[at])]);}",
        [made, aspects],
    )

    points = (
        np.array([one["p"] for one in made]) * np.stack([aspects, np.ones(1000)], axis=1)[:, None]
    )
    one, other = points[:, 0] - points[:, 1], points[:, 2] - points[:, 1]
    cosine = (one * other).sum(axis=1) / np.hypot(*one.T) / np.hypot(*other.T)
    expected = np.degrees(np.arccos(cosine))
    assert np.abs(np.array([size for size, _ in told]) - expected).max() < 1e-6
    shapes = [chalk.Shape("angle", tuple(map(tuple, one["p"])), 0.01, spread=0.006) for one in made]
    assert [words for _, words in told] == [
        chalk.figure(shape, aspect) for shape, aspect in zip(shapes, aspects, strict=True)
    ]


def bright(node: Locator) -> int:
    """How many pixels of it are about as bright as chalk; a still is a JPEG, scaled."""
    seen = np.asarray(Image.open(BytesIO(node.screenshot())).convert("RGB"), dtype=int)
    return int((seen.min(axis=-1) > 170).sum())


def test_the_family_sees_it_on_its_frame(open_page, transactional_db, cast: Cast):
    """On the still, and again when the film stands at that moment; on the frame after it, not."""
    review = staging.evening(cast)
    assert review.focus is not None
    Comment.objects.filter(pk=review.focus.pk).update(drawing=SIX["mixed"])
    publishing.publish(review, by=cast.coach, at=NOW)
    staging.copy_clip(Clip.objects.get())
    page = open_page(cast.guardian)
    page.emulate_media(reduced_motion="reduce")
    page.goto(f"/notes/{review.code}/")
    still = page.locator(".still").first
    expect(still.locator("img")).to_have_js_property("complete", value=True)
    on_still = bright(still)

    still.get_by_role("button", name="Play the moment").click()
    expect(still).to_have_attribute("data-there", "")
    at_moment = bright(still)
    still.get_by_role("button", name="One frame on").click()
    expect(still).not_to_have_attribute("data-there", "")
    after = bright(still)

    assert on_still > after + 1000
    assert at_moment > after + 1000
