"""The temperature of the load cell: a DS18B20 on it or, second best, the processor's own sensor.

    read()  the temperature in 1/16 C, an int; None where there is no fresh one. Returns at once, allocates nothing, and
            is to be called again and again: it carries the measurement on by one small step.
"""

_FRESH_MS = 10000  # a temperature older than this is none
_MEAN_OF = 64

# DS18B20: commands and scratchpad by its datasheet (Maxim).
_SKIP_ROM = 0xCC
_CONVERT_T = 0x44
_WRITE_SCRATCHPAD = 0x4E
_READ_SCRATCHPAD = 0xBE
_SCRATCHPAD_BYTES = 9  # these, three reserved ones and the CRC
_LSB, _MSB, _TH, _TL, _CONFIGURATION = 0, 1, 2, 3, 4
_12_BITS = 0x7F
_CONVERSION_MS = 750  # at 12 bits, at most
# Anything will do for the alarm limits TH and TL that is not what the chip has after power-up.
_MARK_TH = 0x53
_MARK_TL = 0x57

# The steps of a measurement: a byte to write, or one of these.
_RESET, _SEE_IT_CONVERT, _WAIT, _READ, _TAKE = -1, -2, -3, -4, -5
_STEPS = (
    (_RESET, _SKIP_ROM, _WRITE_SCRATCHPAD, _MARK_TH, _MARK_TL, _12_BITS)
    + (_RESET, _SKIP_ROM, _CONVERT_T, _SEE_IT_CONVERT, _WAIT)
    + (_RESET, _SKIP_ROM, _READ_SCRATCHPAD)
    + (_READ,) * _SCRATCHPAD_BYTES
    + (_TAKE,)
)
_FIRST_READ = _STEPS.index(_READ)


def crc8(data):
    """Return the CRC-8/MAXIM-DOW of bytes; 0 over data followed by its CRC."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0x8C if crc & 1 else 0)  # x**8 + x**5 + x**4 + 1, least significant bit first
    return crc


class Ds18b20:
    """The one DS18B20 on a wire, with a supply of its own (not fed by the data line).

    wire: `reset()`, true where a chip answers, `writebyte(byte)` and `readbyte()`, as MicroPython's onewire.OneWire has
    them. clock: `ticks_ms`, `ticks_diff`. A call of `read` takes a reset or a byte on the wire: a millisecond at most.

    After power-up the chip shows 85 C, which it has not measured. So TH and TL are written with a mark before each
    conversion; where the mark is gone afterwards, the chip has lost its supply and its temperature is not believed. Nor
    is one where the chip did not say, by 0, that it converts: it may have missed the command.
    """

    def __init__(self, wire, clock):
        self._wire = wire
        self._clock = clock
        self._scratchpad = bytearray(_SCRATCHPAD_BYTES)
        self._step = 0
        self._started_ms = 0
        self._taken_ms = 0
        self._temperature = None

    def read(self):
        clock = self._clock
        now_ms = clock.ticks_ms()
        if self._temperature is not None and clock.ticks_diff(now_ms, self._taken_ms) > _FRESH_MS:
            self._temperature = None
        self._step = self._next_step(now_ms)
        return self._temperature

    def _next_step(self, now_ms):
        """Do the present step and return the next; 0, to begin anew, where something is wrong."""
        step = self._step
        action = _STEPS[step]
        if action >= 0:
            self._wire.writebyte(action)
        elif action == _RESET:
            return step + 1 if self._wire.reset() else 0
        elif action == _SEE_IT_CONVERT:
            self._started_ms = now_ms
            return step + 1 if self._wire.readbyte() == 0 else 0
        elif action == _WAIT:
            is_over = self._clock.ticks_diff(now_ms, self._started_ms) > _CONVERSION_MS
            return step + 1 if is_over else step
        elif action == _READ:
            self._scratchpad[step - _FIRST_READ] = self._wire.readbyte()
        else:
            self._take(now_ms)
            return 0
        return step + 1

    def _take(self, now_ms):
        data = self._scratchpad
        is_marked = data[_TH] == _MARK_TH and data[_TL] == _MARK_TL and data[_CONFIGURATION] == _12_BITS
        if is_marked and crc8(data) == 0:
            sixteenths = data[_MSB] << 8 | data[_LSB]
            self._temperature = sixteenths - ((sixteenths & 0x8000) << 1)
            self._taken_ms = now_ms


class ProcessorSensor:
    """A sensor in the processor, smoothed: it is coarse and noisy, and warmer than the cell by what the board makes.

    sample(): measures once, in 1/16 C.
    """

    def __init__(self, sample):
        self._sample = sample
        self._sum = sample() * _MEAN_OF

    def read(self):
        self._sum += self._sample() - self._mean()
        return self._mean()

    def _mean(self):
        return (self._sum + _MEAN_OF // 2) // _MEAN_OF


def rp2_sixteenths(level):
    """Return the temperature of an RP2040 or RP2350 in 1/16 C; level: read_u16() of its sensor, reference 3.3 V.

    RP2040 Datasheet (Raspberry Pi), 4.9.5: T = 27 - (V - 0.706) / 0.001721; from memory.
    """
    microvolts = level * 12891 >> 8  # 3300000 / 65535 within 2e-5, in small integers
    return 432 - ((microvolts - 706000) * 16 + 860) // 1721
