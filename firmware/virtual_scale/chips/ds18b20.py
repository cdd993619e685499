"""DS18B20 to the bit: a thermometer on one wire, with its scratchpad.

Written from the datasheet "DS18B20 Programmable Resolution 1-Wire Digital Thermometer" (Maxim); what is marked M from
memory of it. It has its own supply: while it converts it answers read slots with 0. It is alone on the wire, so of the
ROM commands there are Read ROM and Skip ROM. Byte 6 of the scratchpad is reserved; it counts here as in dumps of real
parts: 12 after power-up, 16 less the last four bits of the temperature after a conversion.
"""

import math

READ_ROM, SKIP_ROM = 0x33, 0xCC
CONVERT_T, WRITE_SCRATCHPAD, READ_SCRATCHPAD = 0x44, 0x4E, 0xBE
CONVERSION_NS = 750000000  # 12 bits; half of it for each bit less, M
_POWER_ON = (0x50, 0x05, 0x4B, 0x46, 0x7F, 0xFF, 0x0C, 0x10)  # 85 C; TH, TL and configuration as delivered
_ROM = (0x28, 0x57, 0x53, 0x01, 0x00, 0x00, 0x00)  # family code and an invented serial number
_CONFIGURATION = 4


def crc8(data):
    """Return the CRC-8/MAXIM-DOW of bytes: x**8 + x**5 + x**4 + 1, least significant bit first."""
    crc = 0
    for byte in data:
        for _ in range(8):
            mixed = (crc ^ byte) & 1
            crc = crc >> 1 ^ (0x8C if mixed else 0)
            byte >>= 1
    return crc


class Ds18b20:
    """The chip on `clock`; sensed_c() is its temperature."""

    def __init__(self, clock, sensed_c):
        self._clock = clock
        self._sensed_c = sensed_c
        self.power_up()

    def power_up(self):
        """Have the supply come back after it was lost."""
        self.scratchpad = bytearray(_POWER_ON)
        self._ready_ns = None  # when the conversion that runs has ended
        self._is_selected = False
        self._command = None
        self._received = 0
        self._number_received = 0
        self._to_send = ()
        self._number_sent = 0

    def reset(self):
        """Answer a reset pulse; returns True: present."""
        self._catch_up()
        self._is_selected = False
        self._command = None
        self._received = 0
        self._number_received = 0
        self._to_send = ()
        return True

    def write_bit(self, bit):
        self._catch_up()
        self._received |= bit << self._number_received % 8
        self._number_received += 1
        if self._number_received % 8 == 0:
            self._take(self._received)
            self._received = 0

    def read_bit(self):
        self._catch_up()
        if self._command == CONVERT_T:
            return 1 if self._ready_ns is None else 0
        index = self._number_sent
        if index >= 8 * len(self._to_send):
            return 1
        self._number_sent += 1
        return self._to_send[index // 8] >> index % 8 & 1

    def _take(self, byte):
        if not self._is_selected:
            self._is_selected = byte == SKIP_ROM
            if byte == READ_ROM:
                self._send(_ROM)
        elif self._command is None:
            self._command = byte
            self._number_received = 0
            if byte == CONVERT_T:
                self._ready_ns = self._clock.now_ns + (CONVERSION_NS >> self._bits_less())
            elif byte == READ_SCRATCHPAD:
                self._send(self.scratchpad)
        elif self._command == WRITE_SCRATCHPAD and self._number_received <= 24:
            self._write(self._number_received // 8, byte)

    def _write(self, place, byte):
        """Set TH, TL and configuration in turn; of the latter only the resolution can be chosen."""
        self.scratchpad[1 + place] = byte & 0x60 | 0x1F if 1 + place == _CONFIGURATION else byte

    def _send(self, data):
        self._to_send = bytes(data) + bytes([crc8(data)])
        self._number_sent = 0

    def _bits_less(self):
        return 3 - (self.scratchpad[_CONFIGURATION] >> 5)

    def _catch_up(self):
        """End the conversion if it is due. The range is -55 to 125 C; bits beyond the resolution are 0."""
        if self._ready_ns is None or self._ready_ns > self._clock.now_ns:
            return
        self._ready_ns = None
        unused = self._bits_less()
        sixteenths = math.floor(min(max(self._sensed_c(), -55.0), 125.0) * 16 + 0.5) >> unused << unused
        self.scratchpad[0] = sixteenths & 0xFF
        self.scratchpad[1] = sixteenths >> 8 & 0xFF
        self.scratchpad[6] = 0x10 - (sixteenths & 0x0F)
