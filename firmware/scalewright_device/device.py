"""The device: its parts, and one step of its loop."""

import gc

from scalewright_device.coefficient_store import CoefficientStore
from scalewright_device.command_table import COMMANDS, LATER, CommandError, describe_error, execute
from scalewright_device.faults import Diagnosis
from scalewright_device.link import Link
from scalewright_device.sampler import Sampler
from scalewright_device.seal import Seal
from scalewright_device.two_slots import StorageError
from scalewright_device.watchdog import Watchdog
from scalewright_device.weighing import Weighing
from scalewright_device.weighing_commands import WEIGHING_COMMANDS
from shared_calc import coefficient_record
from shared_calc.link_frame import RESYNCHRONISE
from shared_calc.measuring_chain import MeasuringChain
from shared_calc.reading import NO_DATA, REJECTED, format_reading
from shared_calc.temperature import format_temperature

_ERRORS_KEPT = 8
_READINGS_OWED = 8


class Device:
    """A scale on a Board: samples, weighs, answers. `step()` never blocks."""

    def __init__(self, board):
        self.board = board
        self.commands = COMMANDS + WEIGHING_COMMANDS + list(board.commands)
        self.sampler = Sampler(board.adc, board.clock)
        self.chain = MeasuringChain()
        self.weighing = Weighing(self)
        self.diagnosis = Diagnosis()
        self.store = CoefficientStore(board.folder, board.open)
        self.seal = Seal(board, self.store.sequence, self._present)
        self.link = Link(board.console, self._answer, self._note_error)
        self.errors = []
        self._stream_framed = None  # None: not streaming
        self._asked_framed = False
        self._owed = []  # who waits for the next reading
        self.mishaps = 0  # exceptions outside a command
        self.watchdog = Watchdog(board.watchdog)
        self._parts = (self._sample, self._serve)  # bound once: a step allocates nothing for them
        self._use_stored_coefficients()
        self.panel = self._make_panel()

    @property
    def is_streaming(self):
        return self._stream_framed is not None

    @property
    def is_busy(self):
        """Does somebody wait for a reading?"""
        return self.is_streaming or len(self._owed) > 0

    def run(self):
        """Work for ever; ends only by KeyboardInterrupt, or by EOFError where the line is hung up."""
        while True:
            if not self.step():
                self.board.idle(self.is_busy)

    def step(self):
        """Do what is waiting. Returns False where nothing was."""
        mishaps = self.mishaps
        has_sampled = self._survive(self._parts[0])
        has_heard = self._survive(self._parts[1])
        if self.mishaps != mishaps:
            self.watchdog.note_mishap(self.sampler.time_ms)
        elif has_sampled:
            self.watchdog.feed(self.sampler.time_ms)
        return has_heard or has_sampled

    def _survive(self, part):
        """Do a part of the step. An exception there is counted, reported and leaves no mass that could be stale."""
        try:
            return part()
        except EOFError:
            raise
        except MemoryError:
            self._note_mishap(-321, "")
        except Exception as error:
            self._note_mishap(-310, repr(error)[:60])
        return False

    def _note_mishap(self, code, detail):
        gc.collect()
        self.mishaps += 1
        self.sampler.flags = NO_DATA
        self._miss(NO_DATA)
        try:
            self._note_error(code, detail)
        except MemoryError:  # counted all the same
            pass

    def _sample(self):
        if not self.sampler.step():
            return False
        if self.sampler.flags:
            self._miss(self.sampler.flags)
        else:
            self._feel_temperature()
            self.chain.take(self.sampler.counts)
            if self.diagnosis.take(self.sampler.counts, self.sampler.time_ms):
                self._note_overload()
        self.weighing.step()
        self._hand_out()
        return True

    def _miss(self, flags):
        self.chain.miss(flags)
        self.diagnosis.miss(flags)

    def _feel_temperature(self):
        if self.board.thermometer is not None:
            self.chain.feel(self.board.thermometer.read())

    def _serve(self):
        """Take what the buttons and the link have."""
        if self.panel is not None:
            self.panel.step()
        return self.link.step()

    def _make_panel(self):
        board = self.board
        if board.buttons is None:
            return None
        from scalewright_device.panel import Panel  # takes memory only where it is used

        return Panel(self, board.buttons[0], board.buttons[1], board.display)

    def flags(self):
        """Return the flags of the latest reading."""
        return self.chain.flags | (REJECTED if self.seal.is_rejected else 0)

    def reading(self):
        """Return the latest reading as shared_calc.reading writes it."""
        sampler = self.sampler
        chain = self.chain
        counts = None if sampler.flags else chain.counts
        temperature_c = format_temperature(chain.temperature)
        return format_reading(sampler.number, sampler.time_ms, counts, chain.indication(), temperature_c, self.flags())

    def start_stream(self):
        """Send every reading from now on, in frames if this was asked for in a frame."""
        self._stream_framed = self._asked_framed

    def stop_stream(self):
        self._stream_framed = None

    def change_coefficients(self, data):
        """Check, store and use an encoded coefficient record.

        Raises SealError, CoefficientError, StorageError or OSError; then the old coefficients stay in use.
        """
        self.seal.require_open()
        record = coefficient_record.decode(data)
        self.seal.announce_coefficients(data)
        self.store.save(data)
        self._use(record)

    def _use(self, record):
        self.chain.use(record)
        self.weighing.forget()
        self.diagnosis.use(record)

    def _note_overload(self):
        try:
            self.seal.note_overload()
        except (StorageError, OSError) as error:
            self._note_error(-250, str(error))

    def _present(self):
        """Return the device time in s and the coefficients in use, as an event notes them."""
        return self.sampler.time_ms // 1000, self.store.data

    def _use_stored_coefficients(self):
        if self.seal.log.is_damaged:
            self._note_error(-230, "an event slot is damaged")
        if self.store.is_damaged:
            self._note_error(-230, "a coefficient slot is damaged")
        if self.store.data is None:
            return
        try:
            self._use(coefficient_record.decode(self.store.data))
        except coefficient_record.CoefficientError as error:  # of another version, say: weigh nothing with it
            self._note_error(-230, str(error))

    def _hand_out(self):
        if not self.is_busy:
            return
        text = self.reading()
        while self._owed:
            self.link.reply(self._owed.pop(0), text)
        if self.is_streaming:
            self.link.send_unasked(text, self._stream_framed)  # one that nobody takes is missed by its number

    def _answer(self, command, reply_to):
        """Return the reply to a command; None: it comes later."""
        self._asked_framed = reply_to != Link.BARE
        if reply_to == RESYNCHRONISE:  # a new conversation: nobody waits any more for what the old one asked
            self._owed = [waiting for waiting in self._owed if waiting == Link.BARE]
        try:
            reply = execute(self, command, self.commands)
            if reply is not LATER:
                return reply
            if len(self._owed) >= _READINGS_OWED:
                raise CommandError(-350, "readings owed")
            self._owed.append(reply_to)
            return None
        except CommandError as error:
            return self._note_error(error.code, error.detail)
        except MemoryError:
            return self._note_error(-321)
        except Exception as error:  # a fault in one command must not silence the device
            return self._note_error(-310, repr(error)[:60])

    def _note_error(self, code, detail=""):
        """Queue the error for SYSTem:ERRor? and return it as the answer to what caused it."""
        text = describe_error(code, detail)
        if len(self.errors) < _ERRORS_KEPT:
            self.errors.append(text)
        else:
            self.errors[-1] = describe_error(-350)
        return "!" + text
