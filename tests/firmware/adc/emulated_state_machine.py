"""A PIO state machine with the face of MicroPython's rp2.StateMachine, run by rp2040-pio-emulator in virtual time."""

from collections import deque
from dataclasses import replace

from pioemu import State, emulate

from tests.firmware.adc.pio_assembler import Program
from virtual_scale.chips.hx711 import Hx711
from virtual_scale.clock import VirtualClock

DOUT, PD_SCK = 1 << 0, 1 << 1
_OFF = State(pin_directions=PD_SCK)
_FIFO_WORDS = 4


class EmulatedStateMachine:
    """in_base is DOUT of the chip, side set its PD_SCK; one cycle lasts cycle_ns. It works while `run_until` runs."""

    def __init__(self, program: Program, chip: Hx711, clock: VirtualClock, cycle_ns: int) -> None:
        self._program = program
        self._chip = chip
        self._clock = clock
        self._cycle_ns = cycle_ns
        self._state = _OFF
        self._is_active = False

    def active(self, is_active: int) -> None:
        self._is_active = bool(is_active)

    def restart(self) -> None:
        """Begin at the first instruction; the FIFOs keep their words (RP2040 Datasheet, 3.7, CTRL.SM_RESTART)."""
        self._state = replace(
            _OFF,
            pin_values=self._state.pin_values,
            receive_fifo=self._state.receive_fifo,
            transmit_fifo=self._state.transmit_fifo,
        )

    def put(self, word: int) -> None:
        assert len(self._state.transmit_fifo) < _FIFO_WORDS
        self._state = replace(self._state, transmit_fifo=deque([*self._state.transmit_fifo, word]))

    def rx_fifo(self) -> int:
        return len(self._state.receive_fifo)

    def get(self) -> int:
        word, *others = self._state.receive_fifo  # on a board an empty FIFO would be waited for
        self._state = replace(self._state, receive_fifo=deque(others))
        return int(word)

    def run_until(self, end_ns: int) -> None:
        """Let virtual time pass; where the program waits for DOUT, at once."""
        cycles = emulate(
            self._program.opcodes,
            stop_when=lambda opcode, state: False,
            initial_state=self._state,
            input_source=lambda state: self._chip.dout() * DOUT,
            shift_isr_right=False,
            side_set_base=1,
            side_set_count=1,
            wrap_target=self._program.wrap_target,
            wrap_top=self._program.wrap_top,
        )
        while self._is_active and self._clock.now_ns < end_ns:
            before, self._state = next(cycles)
            self._chip.set_clock(1 if self._state.pin_values & PD_SCK else 0)
            self._clock.now_ns += self._cycle_ns
            if before.program_counter == self._state.program_counter:
                self._clock.now_ns = max(self._clock.now_ns, min(self._chip.next_change_ns(), end_ns))
        self._clock.now_ns = max(self._clock.now_ns, end_ns)
