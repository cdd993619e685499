"""HX711 read by a PIO state machine of an RP2040 or RP2350: no interrupt and no other work can stretch a pulse.

The state machine runs at CYCLES_PER_SECOND, one cycle a clock phase, and puts a word of each conversion into its FIFO.
Instruction set: RP2040 Datasheet (Raspberry Pi), chapter 3.4.
"""

from scalewright_device.adc.hx711 import SETTLING_READINGS

# The names in clock_out are the assembler's:
# ruff: noqa: F821
# pyright: reportUndefinedVariable=false, reportCallIssue=false, reportAttributeAccessIssue=false

CYCLES_PER_SECOND = 1000000  # PD_SCK is high for one cycle, 1 us: typical T3, HX711 datasheet page 5
_FIFO_WORDS = 4


def clock_out():
    """The program, for rp2.asm_pio: in_base on DOUT, side set of one bit on PD_SCK, low at first, ISR shifts left.

    It begins by taking from the FIFO how many pulses follow the 24 bits, less one. A word is the 24 bits and, below
    them, the level of DOUT after each further pulse. Where nobody takes the words, the oldest stay in the FIFO.
    """
    pull(block).side(0)
    mov(y, osr).side(0)
    wrap_target()
    wait(0, pin, 0).side(0)  # after a frame the line is high: no conversion is read twice
    set(x, 23).side(0)
    label("bit")
    nop().side(1)
    in_(pins, 1).side(0)
    jmp(x_dec, "bit").side(0)
    mov(x, y).side(0)
    label("further pulse")
    nop().side(1)
    in_(pins, 1).side(0)
    jmp(x_dec, "further pulse").side(0)
    push(noblock).side(0)
    wrap()


class Hx711Pio:
    """A driver as interface.py describes.

    state_machine: an rp2.StateMachine with clock_out, made once and not yet active. pulses: one of CHANNEL_PULSES.
    """

    settling_readings = SETTLING_READINGS

    def __init__(self, state_machine, pulses=25):
        self._state_machine = state_machine
        self._further_pulses = pulses - 24
        self._all_high = (1 << self._further_pulses) - 1
        self.is_valid = True
        self.restart()

    def restart(self):
        """Begin the program again, with an empty FIFO."""
        state_machine = self._state_machine
        state_machine.active(0)
        self._drain()
        state_machine.restart()
        state_machine.put(self._further_pulses - 1)
        state_machine.active(1)

    def is_ready(self):
        """A full FIFO holds conversions of no one knows when: they are thrown away."""
        if self._state_machine.rx_fifo() == _FIFO_WORDS:
            self._drain()
        return self._state_machine.rx_fifo() > 0

    def read(self):
        word = self._state_machine.get()
        self.is_valid = word & self._all_high == self._all_high
        counts = word >> self._further_pulses & 0xFFFFFF
        return counts - ((counts & 0x800000) << 1)

    def _drain(self):
        while self._state_machine.rx_fifo():
            self._state_machine.get()
