"""From `seek:request` to `frame:shown` in Chromium: our copy beside one of key frames only."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path
from statistics import median

from playwright.sync_api import Page, sync_playwright

from portal.kit import storage
from portal.recordings import encoding, preparing, probing
from portal.recordings.fitting import LIGHT
from portal.recordings.models import Recording, Rendition
from portal.recordings.timing import pack_times
from tests.bench import answering, filming
from tests.bench.measuring import Row, in_turn
from tests.browser.films import some_frames
from tests.cast import NOW, Cast
from tests.chromium import CHROMIUM, FLAGS

SEEKS, RUNS = 25, 5
ALL_KEYS, FEW_KEYS = 1, 250
# Waits for one frame after the other, so that no seek finds the browser at work.
TIMED = """async (frames) => {
  const stage = document.querySelector(".stage");
  const rest = () => new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)));
  const took = [];
  for (const frame of frames) {
    await rest();
    const asked = performance.now();
    await new Promise((resolve) => {
      const hear = ({ detail }) => {
        if (detail.frame !== frame) return;
        stage.removeEventListener("frame:shown", hear);
        resolve();
      };
      stage.addEventListener("frame:shown", hear);
      stage.dispatchEvent(new CustomEvent("seek:request", { detail: { frame } }));
    });
    took.push(performance.now() - asked);
  }
  return took;
}"""


@dataclass(frozen=True)
class Stand:
    """A page with the player, and the frames that it is asked for, the same in every film."""

    page: Page
    frames: list[int]

    def milliseconds(self, copy: Rendition) -> float:
        """The median of one visit's seeks. The first one, while the film still loads, is left
        out."""
        self.page.goto(f"/player/{copy.code}/")
        self.page.wait_for_selector(".stage[data-shown]")
        took: list[float] = self.page.evaluate(TIMED, self.frames)
        return median(took[1:])


def seek(cast: Cast, folder: Path) -> list[Row]:
    recording = filming.bring_in(cast)
    preparing.prepare(recording, at=NOW, report=filming.unheard)
    ours = recording.renditions.get()
    copies = {
        "ours": ours,
        "all keys": _encoded(recording, folder, gop=ALL_KEYS),
        "few keys": _encoded(recording, folder, gop=FEW_KEYS),
    }
    signed_in = answering.cookie(cast.coach)
    frames = some_frames(SEEKS + 1, last=ours.frame_count - 1)
    with answering.portal() as port, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        address = f"http://localhost:{port}"
        context = browser.new_context(base_url=address)
        context.add_cookies(
            [{"name": name, "value": value, "url": address} for name, value in signed_in.items()]
        )
        stand = Stand(context.new_page(), frames)
        works = {name: partial(stand.milliseconds, copy) for name, copy in copies.items()}
        took = in_turn(works, runs=RUNS)
        browser.close()
    return [
        Row.of(
            "seek to a frame", took["ours"], took["all keys"], unit="ms", beside="all key frames"
        ),
        Row.of(
            "seek to a frame", took["ours"], took["few keys"], unit="ms", beside="a key every 250th"
        ),
    ]


def _encoded(recording: Recording, folder: Path, *, gop: int) -> Rendition:
    """The same film as a light copy with key frames that stand elsewhere."""
    source = Path(recording.original.path)
    filming.run(source, filming.one_copy(probing.probe(source), LIGHT, folder, gop=gop))
    film = probing.read(folder / encoding.COPY)
    name = f"copies/gop-{gop}.mp4"
    storage.settle(folder / encoding.COPY, storage.path_of(name))
    return Rendition.objects.create(
        recording=Recording.objects.create(
            session=recording.session,
            name=name,
            filmed_by=recording.filmed_by,
            uploaded_at=NOW,
            original=recording.original.name,
            size=recording.size,
            sha256=f"{gop:064x}",
        ),
        kind=Rendition.Kind.LIGHT,
        file=name,
        size=storage.path_of(name).stat().st_size,
        sha256=f"{gop:064x}",
        width=film.facts.width,
        height=film.facts.height,
        frame_count=len(film.ticks),
        timescale=film.base.denominator,
        packed_times=pack_times([tick * film.base.numerator for tick in film.ticks]),
        made_at=NOW,
    )
