"""Photographs as they are kept: drawn anew, upright, without anything hidden in them."""

import warnings
from typing import IO

from PIL import Image, ImageOps, UnidentifiedImageError

from calculations.inputs.reading import Problem
from records.errors import Invalid

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 60_000_000
QUALITY = 88
"""Of the JPEG that is kept, 1 to 95; a plate stays legible, a photograph loses nothing seen."""
TYPES = JPEG, PNG = "image/jpeg", "image/png"


def redraw(sent: IO[bytes], kept: IO[bytes]) -> str:
    """Write a picture anew and answer its media type.

    Positions, camera data, previews and whatever else a file can carry do not come along; the
    picture stands as it was held. `Invalid` where it is not a whole picture of a known kind.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(sent, formats=FORMATS) as picture:
                _refuse_large(picture)
                return _write(ImageOps.exif_transpose(picture), kept)
    except Image.DecompressionBombError:
        raise _invalid(_TOO_LARGE) from None
    except Image.DecompressionBombWarning:
        raise _invalid(_TOO_LARGE) from None
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError):
        words = "expected a whole picture as JPEG, PNG or WebP; phones can be set to send JPEG"
        raise _invalid(words) from None


_TOO_LARGE = f"expected a picture of at most {MOST_PIXELS // 1_000_000} million pixels"


def _refuse_large(picture: Image.Image) -> None:
    if picture.width * picture.height > MOST_PIXELS:
        raise _invalid(_TOO_LARGE)


def _write(picture: Image.Image, kept: IO[bytes]) -> str:
    clear = picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info
    drawn = picture.convert("RGBA" if clear else "RGB")
    drawn.info.clear()  # else colour profile and comments are written again
    if clear:
        drawn.save(kept, "PNG")
        return PNG
    drawn.save(kept, "JPEG", quality=QUALITY)
    return JPEG


def _invalid(words: str) -> Invalid:
    return Invalid(problems=[Problem("", "picture", words)])
