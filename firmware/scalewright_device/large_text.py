"""An indication in large digits on a display of pixels, such as an SSD1306 with micropython-lib's driver `ssd1306`."""

from shared_calc.reading import AT_ZERO, MOVING, NET

_GLYPH = 8  # pixels of the built-in font, square
_ADVANCE = 15  # of a character twice as wide: eight of them and a point fit 128 pixels
_POINT = 6


class LargeText:
    """A display as panel.py asks, 128 pixels wide.

    driver: `fill(c)`, `text(s, x, y, c)`, `pixel(x, y)`, `fill_rect(x, y, w, h, c)` and `show()`, as the drivers of
    micropython-lib have them. height: 32 or 64 pixels. Below the digits stand the signs for zero, net and a moving load
    (OIML R 76-1:2006, 4.5.5 and 4.6.5, from memory), and the unit.
    """

    def __init__(self, driver, height=32):
        self._driver = driver
        self._line = height - _GLYPH
        self._tall = (self._line - _GLYPH) // _GLYPH  # above the digits a corner is kept free, to draw in

    def show(self, text, unit, flags):
        driver = self._driver
        driver.fill(0)
        width = sum([_POINT if character == "." else _ADVANCE for character in text])
        x = max(128 - width, 0)
        for character in text:
            if character == ".":
                driver.fill_rect(x + 1, self._line - 4, 4, 3, 1)
                x += _POINT
            else:
                self._enlarge(character, x)
                x += _ADVANCE
        signs = ("0 " if flags & AT_ZERO else "") + ("NET " if flags & NET else "") + ("~" if flags & MOVING else "")
        driver.text(signs, 0, self._line, 1)
        driver.text(unit, 128 - _GLYPH * len(unit), self._line, 1)
        driver.show()

    def _enlarge(self, character, left):
        driver = self._driver
        driver.text(character, 0, 0, 1)
        for y in range(_GLYPH):
            for x in range(_GLYPH):
                if driver.pixel(x, y):
                    driver.fill_rect(left + 2 * x, _GLYPH + self._tall * y, 2, self._tall, 1)
        driver.fill_rect(0, 0, _GLYPH, _GLYPH, 0)
