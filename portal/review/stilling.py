"""The picture of a moment: its exact frame, what was drawn on it, and the verdict's sign."""

from __future__ import annotations

import hashlib
import json
from fractions import Fraction
from io import BytesIO
from pathlib import Path

import av
from django.core.files.base import ContentFile
from PIL import Image, ImageDraw

from portal.items.models import Verdict
from portal.kit import signs
from portal.kit.signs import Sign
from portal.kit.storage import at_hand
from portal.recordings import playing
from portal.recordings.models import Rendition
from portal.review import drawing
from portal.review.chalk import Drawing
from portal.review.models import Comment

BOX = (960, 540)
QUALITY = 85
# Part of the name: raise it when the drawing changes, and every still is drawn anew.
DRAWING = 1
# The same for what is painted of a drawing on the frame.
PAINTING = 1

CLOTH, CASING = "#fffdf7", "#3a4648"
SMOOTH = 4

SIGNS = {
    Verdict.GOOD: Sign.GOOD,
    Verdict.WORK_ON: Sign.WORK_ON,
    Verdict.NOT_LEGAL: Sign.NOT_LEGAL,
}


class FrameMissing(Exception):
    """The copy does not hold the frame that its table of times promises."""


def make_still(comment: Comment) -> None:
    """Draw and store the still, unless the stored one shows the same already.

    A deck note has none; nor has a comment whose film is gone: its words stand alone.
    """
    copy = _copy_of(comment)
    if copy is None or comment.frame is None:
        return
    storage, old = comment.still.storage, comment.still.name or ""
    name = _name(comment, copy)
    if old == name and storage.exists(name):
        return
    with at_hand(str(copy.file)) as film:
        frame = exact_frame(film, copy.seconds(comment.frame))
    still = hang_sign(frame, SIGNS[Verdict(comment.verdict)], chalked=drawing.kept(comment.drawing))
    new = storage.save(name, ContentFile(_as_jpeg(still)))
    if not Comment.objects.filter(pk=comment.pk, still=old).update(still=new):
        storage.delete(new)  # somebody else was quicker
    elif old not in ("", new):
        storage.delete(old)
    comment.refresh_from_db(fields=["still"])


def is_current(comment: Comment) -> bool:
    """Whether the stored still shows this frame, drawing and verdict; without film it does."""
    copy = _copy_of(comment)
    return copy is None or comment.still.name == _name(comment, copy)


def exact_frame(path: Path, moment: Fraction) -> Image.Image:
    """The frame whose presentation time is `moment` seconds, in colours of 8 bits.

    Threads are left as they are: asking for them and leaving the loop early can hang the
    close for ever.
    """
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert stream.time_base is not None, f"{path} has no clock"  # noqa: S101
        container.seek(int(moment / stream.time_base), stream=stream, backward=True)
        for frame in container.decode(stream):
            if frame.time_base is None or frame.pts is None:
                continue
            shown_at = frame.pts * frame.time_base
            if shown_at == moment:
                picture: Image.Image = frame.to_image()  # type: ignore[no-untyped-call]
                return picture
            if shown_at > moment:
                break
    raise FrameMissing(
        f"{path.name} has no frame at {float(moment):.6f} s. Have the copy made again."
    )


def hang_sign(frame: Image.Image, sign: Sign, *, chalked: Drawing | None = None) -> Image.Image:
    """Fit the frame into the box, draw on it, and hang a scrap of cloth from its top left edge.

    The cloth is as large as the picture is high, so that it reads alike on every phone.
    """
    still = frame.copy()
    still.thumbnail(BOX, Image.Resampling.LANCZOS)
    if chalked:
        drawing.paint(still, chalked)
    unit = still.height / 100
    width, height, left = round(14 * unit), round(19 * unit), round(3 * unit)
    cloth = _cloth(width, height)
    still.paste(cloth, (left, 0), cloth)
    size = round(9.5 * unit)
    drawn = signs.picture(sign, size)
    still.paste(drawn, (left + (width - size) // 2, round(2.4 * unit)), drawn)
    return still


def _cloth(width: int, height: int) -> Image.Image:
    large = Image.new("RGBA", (width * SMOOTH, height * SMOOTH))
    right, low, middle = large.width - 1, large.height - 1, large.width // 2
    shoulder = round(large.height * 0.72)
    edge = [(0, -SMOOTH), (right, -SMOOTH), (right, shoulder), (middle, low), (0, shoulder)]
    casing = max(SMOOTH, large.width // 28)
    ImageDraw.Draw(large).polygon(edge, fill=CLOTH, outline=CASING, width=casing)
    return large.resize((width, height), Image.Resampling.BOX)


def _copy_of(comment: Comment) -> Rendition | None:
    return playing.copy_of(comment.clip) if comment.clip else None


def _name(comment: Comment, copy: Rendition) -> str:
    """Says what is on the picture, so that another picture has another name."""
    seen = f"{DRAWING} {copy.sha256} {comment.frame} {comment.verdict}"
    if comment.drawing:
        seen += f" {PAINTING} {json.dumps(comment.drawing, sort_keys=True)}"
    return f"stills/{comment.code}-{hashlib.sha256(seen.encode()).hexdigest()[:16]}.jpg"


def _as_jpeg(still: Image.Image) -> bytes:
    """Without metadata: a fresh picture carries none, and none is asked for."""
    out = BytesIO()
    still.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()
