"""The screens for consoles that know no more than ASCII: every other sign is replaced by one as wide."""

from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

_BRAILLE = range(0x2800, 0x2900)
_BOXES = range(0x2500, 0x2580)
_BLOCKS = range(0x2580, 0x25A0)
_BY_DOTS = " .:|"
_SIGNS = dict(zip("■●○→▶←▲▽…·✓±µ", "#*o>><^v..x~u", strict=True))


class AsciiOnly(LineFilter):
    """Passes every line of the screen, whichever widget drew it."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Replace the signs; styles stay."""
        return [
            segment if segment.text.isascii() else Segment("".join(map(in_ascii, segment.text)), *segment[1:])
            for segment in segments
        ]


def in_ascii(sign: str) -> str:
    """Return the ASCII sign that comes nearest."""
    code = ord(sign)
    if code < 128:
        return sign
    if code in _BRAILLE:
        return _BY_DOTS[min((code - _BRAILLE.start).bit_count(), 3)]
    if code in _BLOCKS:
        return "#"
    if code in _BOXES:
        return {"─": "-", "━": "-", "│": "|", "┃": "|"}.get(sign, "+")
    return _SIGNS.get(sign, " ")
