"""MAX7219: eight digits of seven segments on three wires.

Facts from the datasheet "MAX7219/MAX7221, Serially Interfaced, 8-Digit LED Display Drivers" (Maxim, 19-4452), tables 1
to 7, from memory.
"""

DIGITS = 8
_FIRST_DIGIT, _DECODE_MODE, _INTENSITY, _SCAN_LIMIT, _SHUTDOWN, _DISPLAY_TEST = 0x01, 0x09, 0x0A, 0x0B, 0x0C, 0x0F
_POINT = 0x80
_BITS = {"a": 0x40, "b": 0x20, "c": 0x10, "d": 0x08, "e": 0x04, "f": 0x02, "g": 0x01}  # clockwise; g: middle
_SEGMENTS = {
    "0": "abcdef", "1": "bc", "2": "abdeg", "3": "abcdg", "4": "bcfg", "5": "acdfg", "6": "acdefg", "7": "abc",
    "8": "abcdefg", "9": "abcdfg", "-": "g", " ": "", "a": "abcefg", "b": "cdefg", "c": "deg", "d": "bcdeg",
    "e": "adefg", "f": "aefg", "g": "acdef", "h": "cefg", "i": "c", "j": "bcde", "l": "def", "m": "aceg", "n": "ceg",
    "o": "cdeg", "p": "abefg", "r": "eg", "s": "acdfg", "t": "defg", "u": "cde", "v": "cdef", "y": "bcdfg",
}


class Max7219:
    """A display as panel.py asks. spi: mode 0, 10 MHz or less; load_pin: an output on LOAD (CS), high.

    The text stands at the right; it has no place for the unit, and a character that seven segments cannot show is left
    blank. brightness: 0 to 15.
    """

    def __init__(self, spi, load_pin, brightness=3):
        self._spi = spi
        self._load_pin = load_pin
        self._word = bytearray(2)
        for register, value in (
            (_DISPLAY_TEST, 0), (_SCAN_LIMIT, DIGITS - 1), (_DECODE_MODE, 0), (_INTENSITY, brightness), (_SHUTDOWN, 1),
        ):
            self._write(register, value)
        self.show("", "", 0)

    def show(self, text, unit, flags):
        position = 0
        point = 0
        for k in range(len(text) - 1, -1, -1):
            if text[k] == ".":
                point = _POINT
            elif position < DIGITS:
                self._write(_FIRST_DIGIT + position, _segments(text[k].lower()) | point)
                position += 1
                point = 0
        for blank in range(position, DIGITS):
            self._write(_FIRST_DIGIT + blank, 0)

    def _write(self, register, value):
        self._word[0] = register
        self._word[1] = value
        self._load_pin.value(0)
        self._spi.write(self._word)
        self._load_pin.value(1)  # its rise takes over the last 16 bits


def _segments(character):
    return sum([_BITS[segment] for segment in _SEGMENTS.get(character, "")])
