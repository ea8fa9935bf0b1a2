"""Photos of a board: re-encoded without metadata (place, camera, owner), with marked points."""

import hashlib
import io
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from PIL import Image, ImageOps, UnidentifiedImageError

from shouldread.errors import CaseError, RequestError

MOST_PIXELS = 40_000_000  # what a phone takes; beyond it lies a decompression bomb
MOST_BYTES = 60_000_000
LONG_SIDE = 2000  # pixels kept: a solder joint stays visible, a page stays mailable


class Mark(NamedTuple):
    """A marked point: x and y as fractions of width and height from the top left, and its words."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo ready to keep."""

    png: bytes
    sha256: str
    width: int
    height: int


def prepared(path: Path) -> Picture:
    """The photo without metadata, upright, at most LONG_SIDE pixels long.

    Raises CaseError when the file cannot be read, RequestError when it is no picture or too large.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise RequestError(f"{path.name} is larger than {MOST_BYTES // 1_000_000} MB; save it smaller first")
        raw = path.read_bytes()
    except OSError as error:
        raise CaseError(f"the photo {path.name} cannot be read: {error.strerror}", value=str(path)) from error
    return prepared_bytes(raw, path.name)


def prepared_bytes(raw: bytes, name: str) -> Picture:
    """The same for a photo in memory; ``name`` is what a complaint calls it. Raises RequestError."""
    try:
        with Image.open(io.BytesIO(raw), formats=("JPEG", "PNG", "WEBP", "TIFF", "BMP")) as image:
            if image.width * image.height > MOST_PIXELS:
                raise RequestError(f"{name} has more than {MOST_PIXELS // 1_000_000} million pixels")
            upright = ImageOps.exif_transpose(image).convert("RGB")
    except RequestError:
        raise
    except (
        UnidentifiedImageError,
        OSError,
        SyntaxError,
        ValueError,
        struct.error,
        Image.DecompressionBombError,
        Image.DecompressionBombWarning,
    ) as error:
        raise RequestError(f"{name} is not a picture this kit reads (JPEG, PNG, WebP)", value=name) from error
    upright.thumbnail((LONG_SIDE, LONG_SIDE))
    clean = Image.frombytes("RGB", upright.size, upright.tobytes())
    out = io.BytesIO()
    clean.save(out, "PNG", optimize=True)
    png = out.getvalue()
    return Picture(png, hashlib.sha256(png).hexdigest(), clean.width, clean.height)
