"""The child process that reads what a film is: `reading.py DESCRIPTOR LIMITS`.

It alone hands a stranger's bytes to the media libraries in Python, so a file that crashes or
blocks them costs this process and nothing else. It knows no Django and answers with one line
of JSON: the facts, or `{"problem": …}` with a key of `probing.SENTENCES`.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, BinaryIO

import av
import av.container

FORMATS = "mov,matroska,webm,avi,mpegts,mpeg,flv,asf"
# By the codec's own name; the decoder that reads it may have another.
KINDS = frozenset(
    {
        "h264", "hevc", "av1", "vp8", "vp9", "mpeg4", "h263", "mpeg2video", "mpeg1video",
        "mjpeg", "prores", "dvvideo", "dnxhd", "vc1", "wmv3", "msmpeg4v3", "flv1",
    }
)  # fmt: skip
DECODERS = ",".join(sorted({*KINDS - {"av1"}, "libdav1d", "av1", "flv"}))
MAX_STREAMS = 16
# Packets tried for a first picture: a film may begin between two key frames.
FIRST_PICTURE_PACKETS = 600
FILMED_RATE, MOST_FILMED = "com.android.capture.fps", 1000
OPTIONS = {
    # A file object carries no protocol list of its own: without this line a film could name
    # addresses for us to fetch.
    "protocol_whitelist": "fd",
    "format_whitelist": FORMATS,
    "codec_whitelist": DECODERS,
    "max_streams": str(MAX_STREAMS),
}


class Refused(Exception):
    def __init__(self, problem: str, **facts: str) -> None:
        super().__init__(problem)
        self.answer = {"problem": problem, **facts}


@dataclass
class Track:
    """One video stream, copied out of the container, whose memory goes when it is closed.

    `ticks` are the presentation times of its frames, in units of `base` seconds.
    """

    index: int
    kind: str
    area: int
    base: Fraction
    pixel_shape: Fraction
    transfer: int
    ticks: list[int] = field(default_factory=list)


def read(file: BinaryIO, limits: dict[str, int]) -> dict[str, Any]:
    is_cut_short = _is_cut_short(file)
    with _open(file) as container:
        has_sound = bool(container.streams.audio)
        start = Fraction(container.start_time or 0, av.time_base)
        filmed_rate = _filmed_rate(container.metadata)
        track = _chosen(_tracks(container, limits), limits, has_sound=has_sound)
    ticks = sorted(track.ticks)
    with _open(file) as container:
        picture = _first_picture(container, track.index)
    return picture | {
        "ticks": ticks,
        "time_base": [track.base.numerator, track.base.denominator],
        "start": float(ticks[0] * track.base - start),
        "pixel_shape": float(track.pixel_shape),
        "codec": track.kind,
        "transfer": track.transfer,
        "has_sound": has_sound,
        "video_stream": track.index,
        "is_cut_short": is_cut_short,
        "filmed_rate": filmed_rate,
    }


def _filmed_rate(told: dict[str, str]) -> float | None:
    """Frames a second while the camera ran, as phones write it into films in slow motion."""
    try:
        rate = float(told.get(FILMED_RATE, ""))
    except ValueError:
        return None
    return rate if 1 <= rate <= MOST_FILMED else None


def _open(file: BinaryIO) -> av.container.InputContainer:
    file.seek(0)
    try:
        return av.open(file, mode="r", options=OPTIONS, metadata_errors="replace")
    except (av.FFmpegError, ValueError) as error:
        raise Refused("cut short" if _has_no_index(file) else "not a film") from error


def _tracks(container: av.container.InputContainer, limits: dict[str, int]) -> list[Track]:
    """Every video stream with its frames. No decoding: a frame is a packet that has a time.

    Stream counts and rates lie in many files that phones make; packets marked to be discarded
    stand before the film's own start.
    """
    streams = [
        stream
        for stream in container.streams.video
        if getattr(stream, "codec_context", None) and not _is_cover(stream)
    ]
    if not streams:
        raise Refused("only sound" if container.streams.audio else "not a film")
    tracks = {stream.index: _track(stream) for stream in streams}
    try:
        for packet in container.demux(streams):
            if not packet.size or packet.pts is None or packet.is_discard:
                continue
            ticks = tracks[packet.stream.index].ticks
            ticks.append(packet.pts)
            if len(ticks) > limits["frames"]:
                raise Refused("too many frames")
    except av.FFmpegError as error:
        # What came before the damage is still a film.
        if not any(track.ticks for track in tracks.values()):
            raise Refused("no picture") from error
    return list(tracks.values())


def _track(stream: av.VideoStream) -> Track:
    shape = stream.sample_aspect_ratio
    return Track(
        index=stream.index,
        kind=stream.codec_context.codec.canonical_name,
        area=stream.width * stream.height,
        base=stream.time_base or Fraction(1, 90_000),
        pixel_shape=shape if shape and shape > 0 else Fraction(1),
        transfer=stream.codec_context.color_trc,
    )


def _is_cover(stream: av.VideoStream) -> bool:
    return bool(stream.disposition & av.stream.Disposition.attached_pic)


def _chosen(tracks: Sequence[Track], limits: dict[str, int], *, has_sound: bool) -> Track:
    """The film itself: a motion photo also holds a larger track of one still."""
    filled = [track for track in tracks if track.ticks]
    if not filled:
        raise Refused("no picture")
    track = max(filled, key=lambda track: (len(track.ticks) > 1, track.area))
    if len(track.ticks) < 2:
        raise Refused("only sound" if has_sound else "one picture")
    if track.kind not in KINDS:
        raise Refused("unknown kind", kind=track.kind)
    if track.area > limits["pixels"]:
        raise Refused("too large")
    return track


def _first_picture(container: av.container.InputContainer, index: int) -> dict[str, Any]:
    """Only a decoded frame knows how the film must be turned, and its real size."""
    for count, packet in enumerate(container.demux(container.streams[index])):
        try:
            for frame in packet.decode():
                if isinstance(frame, av.VideoFrame):
                    return {
                        "width": frame.width,
                        "height": frame.height,
                        "rotation": frame.rotation,
                        "is_interlaced": bool(frame.interlaced_frame),
                        "matrix": int(frame.colorspace),
                    }
        except av.FFmpegError:
            continue
        if count > FIRST_PICTURE_PACKETS:
            break
    raise Refused("no picture")


def _boxes(file: BinaryIO) -> list[tuple[bytes, int]]:
    """The outermost boxes of an MP4 or MOV: name, and bytes missing from its end."""
    end = file.seek(0, os.SEEK_END)
    found: list[tuple[bytes, int]] = []
    at = 0
    while at + 8 <= end and len(found) < 10_000:
        file.seek(at)
        head = file.read(16)
        size, name = int.from_bytes(head[:4], "big"), head[4:8]
        if size == 1:
            size = int.from_bytes(head[8:16], "big")
        elif size == 0:
            size = end - at
        if size < 8 or not name.isalnum():
            break
        found.append((name, max(0, at + size - end)))
        at += size
    return found


def _has_no_index(file: BinaryIO) -> bool:
    names = {name for name, _missing in _boxes(file)}
    return bool(names & {b"ftyp", b"mdat", b"wide"}) and b"moov" not in names


def _is_cut_short(file: BinaryIO) -> bool:
    return any(missing and name == b"mdat" for name, missing in _boxes(file))


def main(descriptor: str, limits: str) -> None:
    with os.fdopen(int(descriptor), "rb") as file:
        try:
            answer = read(file, json.loads(limits))
        except Refused as refused:
            answer = refused.answer
        except MemoryError:
            answer = {"problem": "no picture"}
    sys.stdout.write(json.dumps(answer) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
