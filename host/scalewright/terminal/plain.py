"""The bench as plain lines of text, for screen readers and for terminals that can do no more: one line a change.

What is typed is a word, or a word and a value, and Enter; an empty line says that what was asked for is done.
"""

import queue
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Future
from typing import Any, TextIO

from scalewright.errors import InputError, ScalewrightError
from scalewright.link.diagnosis import DeviceDiagnosis
from scalewright.link.ports import VIRTUAL
from scalewright.link.reading import Reading
from scalewright.procedures.outcomes import Outcome
from scalewright.procedures.requests import Ask
from scalewright.terminal.bench import Bench, virtual_url
from scalewright.terminal.guidance import what_and_how
from scalewright.terminal.line import Leave
from scalewright.terminal.plans import Form
from scalewright.terminal.progress import ASKED, ENDED, FAILED, PAUSED, WORKING
from scalewright.terminal.reasons import reason
from shared_calc.reading import MOVING, NET

NEWS_EVERY_S = 0.1
_OF_THE_FORM = ("max_g", "division_g", "steps", "readings")
WELCOME = "Scalewright, plain text. Type help and Enter for the words it knows; quit leaves."
NEXT = "Type connect and Enter for the virtual scale, or connect and the name of a port. ports lists them."


class PlainBench:
    """Takes typed lines and says what changes. `say` gets one line at a time."""

    def __init__(self, bench: Bench, say: Callable[[str], None]) -> None:
        self._bench, self._say = bench, say
        self._waiting: list[tuple[Future[Any], Callable[[Any], str]]] = []
        self._said = ""
        self._outcomes_said = 0
        self._reading_said = ""
        self.has_left = False
        self._words: dict[str, tuple[Callable[[str], None], str]] = {
            "ports": (self._ports, "list the ports"),
            "connect": (self._connect, "take the virtual scale, or the scale at the port that is named"),
            "weigh": (self._weigh, "say what the scale shows now"),
            "zero": (self._command("SENSe:ZERO"), "let what is on the pan be zero"),
            "tare": (self._command("SENSe:TARE"), "take off what is on the pan"),
            "clear": (self._command("SENSe:TARE:CLEar"), "show gross values again"),
            "load": (self._load, "put so many grams on the virtual pan"),
            "findings": (self._findings, "say what the scale finds wrong with itself"),
            "calibrate": (self._calibrate, "begin; then Max, d, loads, readings, where not 3000 1 10 16"),
            "all": (self._all, "let the virtual hand do all the rest"),
            "repeat": (self._repeat, "repeat the last reading; say why"),
            "accept": (self._reply, "accept a refused reading; say why"),
            "answer": (self._reply, "answer a question"),
            "pause": (self._pause, "pause the job"),
            "help": (self._help, "say this"),
            "quit": (self._quit, "leave; nothing that was accepted is lost"),
        }

    def take(self, line: str) -> None:
        """Do what was typed."""
        word, _, value = line.strip().partition(" ")
        try:
            if not word:
                self._go_on()
            elif word.casefold() in self._words:
                self._words[word.casefold()][0](value.strip())
            else:
                self._say(f"{word} is not a word it knows. help lists them.")
        except ScalewrightError as error:
            self._say(f"Not done: {reason(error)}")

    def tell(self) -> None:
        """Say what has changed since the last call."""
        before = self._bench.progress
        readings, line = self._bench.take_news()
        if line is not None and line.text != self._said:
            self._said = line.text
            name = f"Scale {line.identity.serial_number}: " if line.identity else ""
            self._say(f"{name}{line.text}.")
            if line.identity and line.record is None:
                self._say("It is not calibrated. Type calibrate.")
        if self._bench.progress is not before:
            self._tell_progress()
        elif readings and (self._bench.progress is None or self._bench.progress.state in (ENDED, FAILED)):
            self._tell_reading(readings[-1])
        self._tell_answers()

    def _tell_answers(self) -> None:
        for future, words in [waiting for waiting in self._waiting if waiting[0].done()]:
            error = future.exception()
            if isinstance(error, ScalewrightError):
                self._say(f"Not done: {reason(error)}")
            elif error is None:
                self._say(words(future.result()))
            elif not isinstance(error, Leave):
                raise error
        self._waiting = [waiting for waiting in self._waiting if not waiting[0].done()]

    def _tell_reading(self, reading: Reading) -> None:
        """Say a reading once it is at rest and another than before; that it moves, once."""
        if reading.indication_g is None:
            text = reading.faults
        elif reading.flags & MOVING:
            text = "moving"
        else:
            text = f"{reading.indication_g} g {'net' if reading.flags & NET else 'gross'}"
        if text != self._reading_said and self._bench.is_calibrated:
            self._reading_said = text
            self._say(text)

    def _tell_progress(self) -> None:
        progress = self._bench.progress
        if progress is None:
            return
        for outcome in progress.outcomes[self._outcomes_said :]:
            self._say(outcome_in_words(outcome))
        self._outcomes_said = len(progress.outcomes)
        what, _ = what_and_how(progress, is_virtual=self._bench.is_virtual)
        if progress.state == WORKING:
            return
        if progress.state == ASKED and isinstance(progress.request, Ask):
            what += f" Type answer and one of: {', '.join(progress.request.choices) or 'your words'}"
        for suspicion in progress.suspicions:
            self._say(f"It points to: {suspicion}")
        self._say(f"{progress.readings} of {progress.outline.readings} readings. {what[0].upper()}{what[1:]}.")

    def _go_on(self) -> None:
        """An empty line: it is done, go on."""
        progress = self._bench.progress
        if progress is None or self._bench.work is None:
            self._say(NEXT if self._bench.live is None else "Nothing waits for you. help lists the words.")
        elif progress.state == PAUSED:
            self._await(self._bench.go_on(), lambda _: "The job has ended.")
        elif progress.state in (ENDED, FAILED):
            self._bench.put_away()
            self._weigh("")
        elif progress.state == ASKED:
            self._say("It waits for an answer.")
        else:
            self._bench.work.reply()

    def _ports(self, _: str) -> None:
        for port in self._bench.find_ports():
            self._say(f"{port.url}: {port.description}")

    def _connect(self, url: str) -> None:
        self._bench.connect(virtual_url(self._bench.records) if url in ("", VIRTUAL) else url)

    def _weigh(self, _: str) -> None:
        self._reading_said = ""
        latest = self._bench.latest
        if latest is None:
            self._say(f"There is no reading. {NEXT}")
        elif not self._bench.is_calibrated:
            self._say(f"{latest.counts} counts")

    def _command(self, command: str) -> Callable[[str], None]:
        return lambda _: self._await(self._ask(command), lambda _: "Done.")

    def _load(self, load_g: str) -> None:
        self._await(self._ask(f"VIRTual:LOAD {load_g}"), lambda _: f"{load_g} g is on the virtual pan.")

    def _findings(self, _: str) -> None:
        if self._bench.live is None:
            raise InputError("no scale is on the line")
        self._await(self._bench.live.between(DeviceDiagnosis.read), findings_in_words)

    def _calibrate(self, values: str) -> None:
        if not self._bench.is_live:
            raise InputError("no scale is on the line")
        form = Form(**dict(zip(_OF_THE_FORM, values.split(), strict=False)))
        plan = form.calibration(asks=self._bench.is_calibrated)
        self._outcomes_said = 0
        self._await(self._bench.begin(plan), lambda _: "The job has ended.")

    def _all(self, _: str) -> None:
        if self._bench.work is not None and self._bench.is_virtual:
            self._bench.work.go_by_itself()

    def _repeat(self, why: str) -> None:
        if self._bench.work is not None and self._bench.live is not None:
            self._bench.work.take_back(why)
            self._bench.live.pause()
            self._await(self._bench.go_on(), lambda _: "The job has ended.")

    def _reply(self, text: str) -> None:
        if self._bench.work is not None:
            self._bench.work.reply(text)

    def _pause(self, _: str) -> None:
        if self._bench.live is not None:
            self._bench.live.pause()

    def _help(self, _: str) -> None:
        for word, (_unused, words) in self._words.items():
            self._say(f"{word}: {words}")
        self._say("An empty line: what was asked for is done.")

    def _quit(self, _: str) -> None:
        self.has_left = True

    def _ask(self, command: str) -> Future[str]:
        if self._bench.live is None or not self._bench.is_live:
            raise InputError("no scale is on the line")
        return self._bench.live.ask(command)

    def _await(self, future: Future[Any], words: Callable[[Any], str]) -> None:
        self._waiting.append((future, words))


def outcome_in_words(outcome: Outcome) -> str:
    """Return what was found beside what is allowed, as one says it."""
    verdict = "PASS" if outcome.passes else "FAIL"
    found, allowed = f"{float(outcome.value):+.3f}", f"{float(outcome.limit):g}"
    return f"{outcome.what}: {found} {outcome.unit}, allowed {allowed} {outcome.unit}: {verdict}"


def findings_in_words(diagnosis: DeviceDiagnosis) -> str:
    """Return what is wrong and what to check, in one line."""
    found = [f"{one.meaning}; check: {'; '.join(one.checks)}" for one in diagnosis.findings]
    return ". ".join(found) or "No fault is seen."


def run_plain(bench: Bench, url: str = "", typed: TextIO = sys.stdin, shown: TextIO = sys.stdout) -> None:
    """Talk with the person until they leave, or nothing more can be typed."""
    lines: queue.SimpleQueue[str] = queue.SimpleQueue()
    threading.Thread(target=_read, args=(typed, lines), daemon=True).start()
    plain = PlainBench(bench, lambda text: print(text, file=shown, flush=True))
    print(WELCOME, file=shown)
    print(NEXT, file=shown, flush=True)
    try:
        if url:
            bench.connect(url)
        while not plain.has_left:
            try:
                line = lines.get(timeout=NEWS_EVERY_S)
                plain.take(line) if line else plain.take("quit")
            except queue.Empty:
                pass
            plain.tell()
    finally:
        bench.let_go()


def _read(typed: TextIO, lines: "queue.SimpleQueue[str]") -> None:
    """Hand on each line with its end; an empty text where there are no more."""
    for line in typed:
        lines.put(line)
    lines.put("")
