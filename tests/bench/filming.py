"""Making a film ready, beside one bare ffmpeg that makes the same files of it."""

from __future__ import annotations

import math
import subprocess
from collections.abc import Callable
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings

from portal.kit import storage
from portal.recordings import encoding, preparing, probing, uploading
from portal.recordings.fitting import FULL, LIGHT, POSTER, Bound, Strip
from portal.recordings.models import Recording, Rendition, Session
from portal.recordings.probing import Facts
from tests.bench.measuring import Cost, Row, Target, in_turn
from tests.cast import NOW, Cast
from tests.recordings.films import mark

FOOTAGE = settings.BASE_DIR / "portal" / "demo" / "footage"
CLIP = 60, 209
RUNS = 3
AT_MOST = Target(at_most=1.10)
# Reading the copy back costs the same for five seconds as for five minutes.
AT_MOST_FOR_A_CLIP = Target(at_most=1.15)
BESIDE = "one bare ffmpeg"


class NotTheSame(Exception):
    """The limit made another film than we did, so their costs cannot be compared."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"The bare ffmpeg made another {name} than the portal. Has encoding.py changed? "
            "Then change tests/bench/filming.py likewise."
        )


def bring_in(cast: Cast) -> Recording:
    """The film in a session of its own: no session takes the same film twice."""
    session = Session.objects.create(
        squad=cast.squad,
        pool=cast.pool,
        course=cast.pool.course,
        date=NOW.date(),
        created_by=cast.coach,
        created_at=NOW,
    )
    film = _joined()
    return uploading.receive(
        session, name="joined.mp4", blocks=[film], length=len(film), by=cast.coach, at=NOW
    )


def _joined() -> bytes:
    """The two largest films of the demo, end to end: about 15 s of 720p, 30 frames a second."""
    films = sorted(FOOTAGE.glob("*.mp4"), key=lambda path: path.stat().st_size)[-2:]
    with TemporaryDirectory() as room:
        parts, whole = Path(room) / "parts.txt", Path(room) / "whole.mp4"
        parts.write_text("".join(f"file '{film}'\n" for film in films))
        concat = ["-nostdin", "-v", "error", "-f", "concat", "-safe", "0", "-i", str(parts)]
        subprocess.run([settings.FFMPEG, *concat, "-c", "copy", str(whole)], check=True)
        return whole.read_bytes()


def prepare(cast: Cast, folder: Path) -> list[Row]:
    """Facts, light copy, poster and filmstrip, from the file to the rows in the database."""
    recording = bring_in(cast)
    source = Path(recording.original.path)
    facts = probing.probe(source)
    words = all_at_once(facts, Strip.of(facts), folder)
    rows = _compare(
        "prepare",
        partial(preparing.prepare, recording, at=NOW, report=unheard),
        partial(run, source, words),
        target=AT_MOST,
    )
    _must_be_equal(recording.renditions.get(), folder / encoding.COPY, "copy")
    return rows


def clip(cast: Cast, folder: Path) -> list[Row]:
    """The full copy of five seconds."""
    recording = bring_in(cast)
    preparing.prepare(recording, at=NOW, report=unheard)
    recording.refresh_from_db()
    cut = mark(cast, recording, *CLIP)
    source = Path(recording.original.path)
    words = one_copy(probing.probe(source), FULL, folder, trim=CLIP)
    rows = _compare(
        "clip's copy",
        partial(preparing.prepare_clip, cut, at=NOW, report=unheard),
        partial(run, source, words),
        target=AT_MOST_FOR_A_CLIP,
    )
    _must_be_equal(cut.renditions.get(), folder / encoding.COPY, "clip's copy")
    return rows


def _compare(
    name: str, ours: Callable[[], object], limit: Callable[[], object], *, target: Target
) -> list[Row]:
    costs = in_turn({"ours": partial(Cost.of, ours), "limit": partial(Cost.of, limit)}, runs=RUNS)
    cpu = [[cost.cpu for cost in costs[who]] for who in ("ours", "limit")]
    wall = [[cost.wall for cost in costs[who]] for who in ("ours", "limit")]
    return [
        Row.of(f"{name}, processor", *cpu, unit="s", beside=BESIDE, target=target),
        Row.of(f"{name}, clock", *wall, unit="s", beside=BESIDE),
    ]


def run(source: Path, words: list[str]) -> None:
    """As polite as the portal's own ffmpeg is: else a busy machine would slow only one of both."""
    program = ["nice", "-n", "5", settings.FFMPEG, "-v", "error", "-nostdin", "-y"]
    subprocess.run([*program, "-i", source, *words], check=True)


def all_at_once(facts: Facts, strip: Strip, into: Path) -> list[str]:
    width, height = POSTER.fit(facts.width, facts.height)
    rows = math.ceil(strip.count(facts.frame_count) / strip.columns)
    tile = f"{strip.tile[0]}:{strip.tile[1]}"
    graph = (
        f"{_scaled(facts, LIGHT)},split=3[copy][a][b];"
        f"[a]select='eq(n,0)+eq(n,{facts.frame_count // 3})',"
        f"scale={width}:{height}:flags=area[poster];"
        f"[b]select='not(mod(n,{strip.step}))',scale={tile}:flags=area,"
        f"tile={strip.columns}x{rows}[strip]"
    )
    picture = ["-fps_mode:v", "passthrough", "-update", "1"]
    return [
        *["-filter_complex", graph, *_copy(LIGHT, into)],
        *["-map", "[poster]", "-q:v", "3", *picture, str(into / encoding.POSTER_FILE)],
        *["-map", "[strip]", "-frames:v", "1", "-q:v", "4", *picture],
        str(into / encoding.STRIP_FILE),
    ]


def one_copy(
    facts: Facts, bound: Bound, into: Path, *, trim: tuple[int, int] | None = None, gop: int = 15
) -> list[str]:
    """Of all frames, or of the first to the last one of `trim`."""
    part = (
        f"trim=start_frame={trim[0]}:end_frame={trim[1] + 1},setpts=PTS-STARTPTS," if trim else ""
    )
    graph = f"[0:v]{part}{_scaled(facts, bound)}[copy]"
    return ["-filter_complex", graph, *_copy(bound, into, gop=gop)]


def _scaled(facts: Facts, bound: Bound) -> str:
    width, height = bound.fit(facts.width, facts.height)
    size = f"scale={width}:{height}:flags=bicubic:in_color_matrix=bt709:out_range=tv"
    return f"{size}:out_color_matrix=bt709,format=yuv420p,setsar=1"


def _copy(bound: Bound, into: Path, *, gop: int = 15) -> list[str]:
    peak = ["-maxrate", f"{bound.peak}M", "-bufsize", f"{2 * bound.peak}M"]
    steady = [*encoding.STEADY, "-g", str(gop)]
    every = [*encoding.NOTHING_ELSE, *encoding.EVERY_FRAME]
    return ["-map", "[copy]", *every, *steady, *peak, str(into / encoding.COPY)]


def _must_be_equal(ours: Rendition, bare: Path, name: str) -> None:
    if ours.sha256 != storage.sha256(bare):
        raise NotTheSame(name)


def unheard(_share: float) -> None:
    """The bench does not ask how far it is."""
