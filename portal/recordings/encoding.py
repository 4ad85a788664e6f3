"""One run of ffmpeg: the copy for the browser, and with it a poster and a filmstrip.

Every frame of the source keeps its own time. Frames are named by their numbers in the order
in which they are shown, so frame k of a copy is frame k of the film, or of its stretch.
"""

from __future__ import annotations

import logging
import math
import re
import signal
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from django.conf import settings

from portal.kit import storage
from portal.recordings import confining, proposing, reading
from portal.recordings.fitting import FULL, LIGHT, POSTER, TILE, Bound, Strip
from portal.recordings.probing import UNSAID, Facts, unusable

COPY, POSTER_FILE, STRIP_FILE, MOMENTS = "copy.mp4", "poster.jpg", "strip.jpg", "moments.txt"
GLIMPSES = "glimpses.yuv"

logger = logging.getLogger(__name__)

Report = Callable[[float], None]


class Killed(Exception):
    """ffmpeg was killed, by a limit or by whoever needed the memory: it may work next time."""

    def __init__(self, code: int) -> None:
        super().__init__(f"ffmpeg was stopped by signal {-code}. Is the machine short of memory?")


HIGH_DYNAMIC_RANGE = {16: "smpte2084", 18: "arib-std-b67"}
# Chromium shows any frame of such a copy in about 40 ms; without `sc_threshold` a cut to
# black makes every frame a key frame, and B-frames would bring an edit list.
STEADY = [
    *["-c:v", "libx264", "-preset", "veryfast", "-crf", "23", "-profile:v", "high"],
    *["-g", "15", "-sc_threshold", "0", "-bf", "0", "-tune", "fastdecode"],
    *["-pix_fmt", "yuv420p", "-color_range", "tv", "-colorspace", "bt709"],
    *["-color_primaries", "bt709", "-color_trc", "bt709", "-movflags", "+faststart", "-f", "mp4"],
]
# Anything else in place of these two moves frames in time or drops them.
EVERY_FRAME = ["-fps_mode:v", "passthrough", "-enc_time_base:v", "filter"]
# Position, device and names that a phone writes into a film stay behind.
NOTHING_ELSE = ["-an", "-sn", "-dn", "-map_metadata", "-1", "-map_chapters", "-1"]
MAX_PIXELS = 36_000_000
HIGH_DEFINITION = 720
"""Lines."""
# What `-progress` says; any other line is a complaint.
PROGRESS = re.compile(r"(?P<key>[a-z0-9_]+)=\s*(?P<value>\S+)")
NO_SPACE_LEFT = 228
# A film of 4K on one slow processor comes out at about this rate.
LEAST_SECONDS, SECONDS_A_FRAME = 300, 0.25
# Before this moment reading from the start costs less than it could save.
WORTH_SEEKING = 10
FIRST_TILES, FIRST_COLUMNS = 10, 5
# Room for a demuxer that lands too late, and for pictures that lean on earlier ones.
RUN_UP = 3


@dataclass(frozen=True)
class Stretch:
    """Frames `first` to `last` of a film whose frames come at `times`, in seconds from 0."""

    first: int
    last: int
    times: Sequence[Fraction]

    @property
    def count(self) -> int:
        return self.last - self.first + 1

    @property
    def gap_before(self) -> Fraction:
        return self.times[self.first] - self.times[self.first - 1] if self.first else Fraction(0)


def copy_whole(source: Path, facts: Facts, *, bound: Bound, into: Path, report: Report) -> Path:
    """`into`/copy.mp4 with all frames."""
    graph = f"[0:{facts.video_stream}]setpts=PTS-STARTPTS,{_picture(facts, bound)}[copy]"
    outputs = _copy(bound, into)
    _run([*_input(), "-filter_complex", graph, *outputs], source, facts.frame_count, report)
    return into / COPY


def copy_with_pictures(
    source: Path, facts: Facts, strip: Strip, *, into: Path, report: Report
) -> Path:
    """The light copy, poster.jpg, strip.jpg and the small pictures of `glimpses`, all from one
    decoding."""
    width, height = POSTER.fit(facts.width, facts.height)
    rows = math.ceil(strip.count(facts.frame_count) / strip.columns)
    graph = (
        f"[0:{facts.video_stream}]setpts=PTS-STARTPTS,{_picture(facts, LIGHT)},"
        "split=4[copy][a][b][c];"
        # The first frame too: a damaged film may end before its third.
        f"[a]select='eq(n,0)+eq(n,{facts.frame_count // 3})',"
        f"scale={width}:{height}:flags=area[poster];"
        f"[b]select='not(mod(n,{strip.step}))',"
        f"scale={strip.tile[0]}:{strip.tile[1]}:flags=area,tile={strip.columns}x{rows}[strip];"
        f"[c]select='not(mod(n,{proposing.spacing(facts.rate, facts.frame_count)}))',"
        f"scale={proposing.COLUMNS}:{proposing.ROWS}:flags=area,format=yuv444p[glimpses]"
    )
    jpeg = ["-fps_mode:v", "passthrough", "-map_metadata", "-1", "-f", "image2", "-update", "1"]
    pictures = [
        *["-map", "[poster]", "-q:v", "3", *jpeg, str(into / POSTER_FILE)],
        *["-map", "[strip]", "-frames:v", "1", "-q:v", "4", *jpeg, str(into / STRIP_FILE)],
        *["-map", "[glimpses]", "-fps_mode:v", "passthrough", "-f", "rawvideo"],
        str(into / GLIMPSES),
    ]
    copy = _copy(LIGHT, into, *_tell_moments(into))
    words = [*_input(), "-filter_complex", graph, *copy, *pictures]
    _run(words, source, facts.frame_count, report)
    return into / COPY


def first_look(source: Path, facts: Facts, *, into: Path) -> Path:
    """A short filmstrip of key frames alone: a long film is read through in seconds, where its
    copy takes minutes. Which frames these are nobody needs to know."""
    apart = facts.duration / FIRST_TILES - 0.5 / facts.rate
    graph = (
        f"[0:{facts.video_stream}]"
        f"select='isnan(prev_selected_t)+gte(t-prev_selected_t,{apart:.3f})',"
        f"{_picture(facts, TILE)},tile={FIRST_COLUMNS}x{FIRST_TILES // FIRST_COLUMNS}[strip]"
    )
    jpeg = ["-map_metadata", "-1", "-f", "image2", "-update", "1", str(into / STRIP_FILE)]
    pictures = ["-map", "[strip]", "-fps_mode:v", "passthrough", "-frames:v", "1", "-q:v", "4"]
    words = ["-skip_frame", "nokey", *_input(), "-filter_complex", graph, *pictures, *jpeg]
    _run(words, source, facts.frame_count, _unheard)
    return into / STRIP_FILE


def _unheard(_share: float) -> None:
    """How far a first look is: it is over before anybody asks."""


def glimpses(folder: Path) -> bytes:
    """What `proposing` looks at: a few small pictures a second of the film copied there."""
    return (folder / GLIMPSES).read_bytes()


def copy_stretch(
    source: Path, facts: Facts, stretch: Stretch, *, into: Path, report: Report
) -> Path:
    """The full copy of a stretch. Its first frame stands at 0 and the gaps stay as they are.

    Deep in a long film we jump close to the stretch first. Demuxers may miss, so ffmpeg
    writes down from which moment of the source each frame came; if that is not the moment we
    know, the film is read again from its start, counting frames.
    """
    start = Fraction(facts.start)
    wanted = [start + time for time in stretch.times[stretch.first : stretch.last + 1]]
    if wanted[0] > WORTH_SEEKING:
        jump = Fraction(round(1000 * (wanted[0] - RUN_UP)), 1000)
        begin = wanted[0] - jump - stretch.gap_before / 2
        trim = f"trim=start={float(begin):.6f},trim=end_frame={stretch.count}"
        seek = ["-ss", f"{float(jump):.3f}"]
        _copy_trimmed(source, facts, trim, seek=seek, count=stretch.count, into=into, report=report)
        if _are_these(moments(into), [time - jump for time in wanted]):
            return into / COPY
    trim = f"trim=start_frame={stretch.first}:end_frame={stretch.last + 1}"
    _copy_trimmed(source, facts, trim, seek=[], count=stretch.count, into=into, report=report)
    return into / COPY


def _copy_trimmed(
    source: Path,
    facts: Facts,
    trim: str,
    *,
    seek: list[str],
    count: int,
    into: Path,
    report: Report,
) -> None:
    picture = _picture(facts, FULL)
    graph = f"[0:{facts.video_stream}]{trim},setpts=PTS-STARTPTS,{picture}[copy]"
    copy = _copy(FULL, into, *_tell_moments(into))
    words = [*seek, *_input(), "-filter_complex", graph, *copy]
    _run(words, source, count, report)


def _tell_moments(into: Path) -> list[str]:
    return ["-stats_enc_pre:v", str(into / MOMENTS), "-stats_enc_pre_fmt:v", "{ptsi} {tbi}"]


def moments(folder: Path) -> list[Fraction]:
    """From which second of its source ffmpeg took each frame of the copy in `folder`."""
    lines = [line.split() for line in (folder / MOMENTS).read_text().splitlines()]
    return [int(ticks) * Fraction(seconds) for ticks, seconds in lines]


def _are_these(found: Sequence[Fraction], wanted: Sequence[Fraction]) -> bool:
    if len(found) != len(wanted):
        return False
    near = min(after - before for before, after in pairwise(wanted)) / 2
    return all(abs(is_at - want) < near for is_at, want in zip(found, wanted, strict=True))


def _picture(facts: Facts, bound: Bound) -> str:
    """Filters that make a frame upright, progressive, square, in the range browsers expect."""
    width, height = bound.fit(facts.width, facts.height)
    still = "bwdif=mode=send_frame:deint=interlaced," if facts.is_interlaced else ""
    transfer = HIGH_DYNAMIC_RANGE.get(facts.transfer)
    if not transfer:
        return (
            f"{still}scale={width}:{height}:flags=bicubic:{_colours(facts)}out_range=tv:"
            "out_color_matrix=bt709,format=yuv420p,setsar=1"
        )
    # Phones leave some of the colour's description out, and zscale will not guess.
    return (
        f"{still}setparams=color_primaries=bt2020:color_trc={transfer}:colorspace=bt2020nc,"
        f"zscale=w={width}:h={height}:t=linear:npl=203,format=gbrpf32le,zscale=p=bt709,"
        "tonemap=mobius:desat=0,zscale=t=bt709:m=bt709:r=tv,format=yuv420p,setsar=1"
    )


def _colours(facts: Facts) -> str:
    """Where the film does not say it we guess as browsers do, by its lines; ffmpeg alone would
    take all of them for old television."""
    is_high = facts.matrix == UNSAID and facts.lines >= HIGH_DEFINITION
    return "in_color_matrix=bt709:" if is_high else ""


def _input() -> list[str]:
    """A film can name other files and addresses; with these words ffmpeg opens none of them."""
    return [
        *["-protocol_whitelist", "fd", "-format_whitelist", reading.FORMATS],
        *["-codec_whitelist", reading.DECODERS, "-max_pixels", str(MAX_PIXELS)],
        *["-max_streams", str(reading.MAX_STREAMS), "-threads", "2"],
        *["-fd", confining.FILE, "-i", "fd:", "-filter_complex_threads", "2"],
    ]


def _copy(bound: Bound, into: Path, *more: str) -> list[str]:
    peak = ["-maxrate", f"{bound.peak}M", "-bufsize", f"{2 * bound.peak}M"]
    return [
        *["-map", "[copy]", *NOTHING_ELSE, *EVERY_FRAME, *more],
        *[*STEADY, *peak, str(into / COPY)],
    ]


def _run(words: Sequence[str], source: Path, frames: int, report: Report) -> None:
    """Raises NoRoom, Unusable for a film that ffmpeg gives up on or never ends with, Killed
    otherwise."""
    quiet = ["-hide_banner", "-nostdin", "-nostats", "-v", "error", "-y"]
    progress = ["-progress", "pipe:1", "-stats_period", "1"]
    limits = confining.Limits(
        seconds=round(LEAST_SECONDS + SECONDS_A_FRAME * frames), file_bytes=storage.must_have_room()
    )
    program = [settings.FFMPEG, *quiet, *progress, *words]
    said: deque[str] = deque(maxlen=20)
    try:
        with confining.running(program, on=source, limits=limits) as ffmpeg:
            for line in ffmpeg.lines():
                told = PROGRESS.fullmatch(line.strip())
                if not told:
                    said.append(line)
                elif told["key"] == "frame":
                    report(min(1.0, int(told["value"]) / frames))
            code = ffmpeg.returncode()
    except confining.TookTooLong as error:
        raise unusable("too slow") from error
    _judge(code, "\n".join(said))


def _judge(code: int, said: str) -> None:
    if code == 0:
        return
    logger.warning("ffmpeg ended", extra={"exit": code})
    if code in (NO_SPACE_LEFT, -signal.SIGXFSZ) or storage.room() <= 0:
        raise storage.NoRoom
    error = Killed(code) if code < 0 else unusable("not converted")
    # For the job's row; the log has no room for words.
    error.add_note(said)
    raise error
