"""Numbered films, made into copies by the product itself, and the player that shows them."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
from django.core.files import File
from playwright.sync_api import Page

from portal.recordings import preparing
from portal.recordings.models import Clip, Recording, Rendition
from tests.cast import NOW, Cast
from tests.media import film, jittered_ticks

RATES: dict[str, Fraction | int] = {
    "25": 25,
    "29.97": Fraction(30_000, 1001),
    "30": 30,
    "60": 60,
    "120": 120,
    "240": 240,
}


def record(cast: Cast, folder: Path, *, rate: str = "30", frames: int = 240) -> Recording:
    """A recording of numbered frames, prepared; `rate` is a key of RATES or "jittered"."""
    path = folder / "film.mp4"
    if rate == "jittered":
        film(path, frames=frames, ticks=jittered_ticks(frames))
    else:
        film(path, frames=frames, rate=RATES[rate])
    with path.open("rb") as opened:
        recording = Recording.objects.create(
            session=cast.session,
            name=f"{rate}.mp4",
            filmed_by=cast.coach,
            uploaded_at=NOW,
            original=File(opened, name="film.mp4"),
            size=path.stat().st_size,
            sha256="0" * 64,
        )
    preparing.prepare(recording, at=NOW, report=lambda share: None)
    recording.refresh_from_db()
    return recording


def some_frames(how_many: int, *, first: int = 0, last: int) -> list[int]:
    """Frames by chance, the same in every run."""
    chance = np.random.default_rng(how_many + last)
    return [int(frame) for frame in chance.integers(first, last, how_many, endpoint=True)]


def light_copy(recording: Recording) -> Rendition:
    return recording.renditions.get(kind=Rendition.Kind.LIGHT)


def cut(cast: Cast, recording: Recording, *, first: int, last: int) -> Clip:
    clip = Clip.objects.create(
        recording=recording,
        first_frame=first,
        last_frame=last,
        stroke="breast",
        view="side-underwater",
        effort="race",
        cut_by=cast.coach,
        cut_at=NOW,
    )
    clip.swimmers.add(cast.swimmer)
    return clip


def show(page: Page, copy: Rendition, **asked: int) -> None:
    """Open the player's page and wait for its first frame."""
    query = "&".join(f"{name}={value}" for name, value in asked.items())
    page.goto(f"/player/{copy.code}/?{query}")
    page.wait_for_function("() => document.querySelector('.stage').dataset.shown !== undefined")
    page.evaluate(PROBE)


# Puts `probe` on the page: the number in the pixels, and requests that wait for their frame.
PROBE = """() => {
  const stage = document.querySelector(".stage");
  const video = stage.querySelector("video");
  const paper = document.createElement("canvas");
  const pen = paper.getContext("2d", { willReadFrequently: true });
  const pixels = () => {
    paper.width = video.videoWidth;
    paper.height = video.videoHeight;
    pen.drawImage(video, 0, 0);
    const cell = (16 * paper.width) / 320;
    let number = 0;
    for (let place = 0; place < 16; place += 1) {
      const [x, y] = [Math.floor((place + 0.5) * cell), Math.floor(cell / 2)];
      const [red] = pen.getImageData(x, y, 1, 1).data;
      number = number * 2 + (red > 127 ? 1 : 0);
    }
    return number;
  };
  const lies = [];
  let said = Number(stage.dataset.shown);
  stage.addEventListener("frame:shown", ({ detail }) => {
    said = detail.frame;
    if (video.paused && said !== pixels()) lies.push([said, pixels()]);
  });
  const ask = (name, detail) => stage.dispatchEvent(new CustomEvent(name, { detail }));
  const until = (frame) => new Promise((resolve) => {
    const late = setTimeout(() => done("late"), 5000);
    const hear = ({ detail }) => detail.frame === frame && done("shown");
    const done = (how) => {
      clearTimeout(late);
      stage.removeEventListener("frame:shown", hear);
      resolve(how);
    };
    stage.addEventListener("frame:shown", hear);
  });
  /** Ask by event and wait: what was asked, said and seen. */
  const bring = async (asked, name = "seek:request", detail = { frame: asked }) => {
    const arrived = until(asked);
    ask(name, detail);
    const how = await arrived;
    return { asked, how, said, seen: pixels() };
  };
  window.probe = { pixels, lies, ask, until, bring, said: () => said };
}"""
