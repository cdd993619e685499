"""The display driver against the registers of the chip: MAX7219/MAX7221 datasheet (Maxim, 19-4452), from memory."""

import pytest

from scalewright_device.max7219 import Max7219

# Table 5, code B font: the segments that the chip itself lights for these characters, DP A B C D E F G.
CODE_B = dict(zip("0123456789- ", bytes.fromhex("7E306D79335B5F707F7B0100"), strict=True))


class Chip:
    """Shifts in what SPI writes; the rise of LOAD takes over the last 16 bits: register in bits 8 to 11, then data."""

    def __init__(self):
        self.registers = dict.fromkeys(range(16), 0xFF)  # whatever was before
        self._bits = b""
        self._load = 1

    def write(self, data):
        assert self._load == 0
        self._bits = (self._bits + bytes(data))[-2:]

    def value(self, level):
        if level and not self._load:
            self.registers[self._bits[0] & 0x0F] = self._bits[1]
        self._load = level

    def digits(self):
        """Return the segments from left to right."""
        return [self.registers[k] for k in range(8, 0, -1)]


@pytest.fixture
def chip():
    return Chip()


def test_it_is_switched_on_for_eight_digits_without_decoding_and_dark(chip):
    Max7219(chip, chip, brightness=5)
    assert [chip.registers[k] for k in (0x09, 0x0A, 0x0B, 0x0C, 0x0F)] == [0, 5, 7, 1, 0]  # tables 4, 7, 8, 3, 10
    assert chip.digits() == [0] * 8


@pytest.mark.parametrize(
    ("text", "characters"),
    [("-12.3", "    -123"), ("0.00", "     000"), ("4567890", " 4567890"), ("-12345678", "12345678")],
)
def test_numbers_stand_at_the_right_as_the_font_of_the_chip_has_them(chip, text, characters):
    Max7219(chip, chip).show(text, "g", 0)
    assert [one & 0x7F for one in chip.digits()] == [CODE_B[c] for c in characters]


def test_the_point_belongs_to_the_digit_before_it(chip):
    display = Max7219(chip, chip)
    display.show("12.3", "g", 0)
    assert [one >> 7 for one in chip.digits()] == [0, 0, 0, 0, 0, 0, 1, 0]
    display.show("123", "g", 0)
    assert [one >> 7 for one in chip.digits()] == [0] * 8


WORDS = ["no data", "moving", "too far", "tared", "is set", "no load", "over", "under", "adjust", "done", "sealed"]


@pytest.mark.parametrize("word", WORDS)
def test_every_letter_of_the_words_lights_something_and_no_two_of_a_word_are_alike(chip, word):
    Max7219(chip, chip).show(word, "", 0)
    lit = chip.digits()[-len(word) :]
    letters = dict(zip(word, lit, strict=True))
    assert all(segments or letter == " " for letter, segments in letters.items())
    assert len(set(letters.values())) == len(letters)
