"""Shows indications on MicroPython's own frame buffer and prints the pixels, `#` for a lit one."""

import framebuf

from scalewright_device.large_text import LargeText
from shared_calc.reading import AT_ZERO, NET


class Driver(framebuf.FrameBuffer):
    """As micropython-lib's ssd1306: a frame buffer that `show` sends to the chip."""

    def __init__(self, height):
        self.height = height
        super().__init__(bytearray(128 * height // 8), 128, height, framebuf.MONO_VLSB)

    def show(self):
        for y in range(self.height):
            print("".join(["#" if self.pixel(x, y) else "." for x in range(128)]))


def main():
    LargeText(Driver(32)).show("-12.34", "g", NET | AT_ZERO)
    LargeText(Driver(64), 64).show("1234567.8", "oz t", 0)
    glyph = Driver(8)
    glyph.text("4", 0, 0, 1)
    glyph.show()
