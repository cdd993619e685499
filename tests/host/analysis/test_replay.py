"""A replayed recording is what the device made of it, to the bit, compiled or not, whole or in pieces."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scalewright.analysis import compiled
from scalewright.analysis.replay import Readings, Replay, read_counts, replay, replay_file
from scalewright.errors import InputError
from scalewright.recording_reader import NO_COUNT
from shared_calc.coefficient_record import decode
from shared_calc.measuring_chain import COUNTS_MAX, COUNTS_MIN, MeasuringChain
from shared_calc.reading import COMPENSATION_HELD, FAULTS, NO_DATA, format_flags
from shared_calc.temperature import Compensation
from tests.firmware.parts import Bench, falling_record, record
from tests.on_micropython.runtimes import IS_REQUIRED
from tests.on_micropython.shared_calc_vectors import COMPENSATION, calibrated, load_history, take

needs_numba = pytest.mark.skipif(
    not (compiled.IS_AVAILABLE or IS_REQUIRED), reason="left out: numba. To run it: pip install numba"
)
WAYS = [pytest.param(False, id="plain"), pytest.param(True, id="compiled", marks=needs_numba)]
RECORD = calibrated(3)
COMPENSATED = calibrated(2, Compensation(*COMPENSATION))

any_counts = st.one_of(
    st.integers(2_999_000, 3_001_000), st.integers(COUNTS_MIN, COUNTS_MAX), st.just(NO_COUNT), st.just(COUNTS_MAX)
)
recordings = st.lists(st.tuples(any_counts, st.integers(1, 30)), max_size=30).map(
    lambda runs: [counts for counts, length in runs for _ in range(length)]
)


def history(seed: int, number: int) -> list[int]:
    return [NO_COUNT if counts is None else counts for counts in load_history(seed, number)]


def rows_of(readings: Readings) -> list[tuple[int, ...]]:
    return list(zip(*(column.tolist() for column in readings), strict=True))


def by_the_device(record, counts, temperatures=None):
    """Return flags, fine and divisions of each reading as the device's own chain has them; temperatures in 1/16 C."""
    chain = MeasuringChain()
    chain.use(record)
    for one, temperature in zip(counts, temperatures or [None] * len(counts), strict=True):
        take(chain, None if one == NO_COUNT else one, temperature)
        yield chain.flags, chain.fine, chain.divisions


@pytest.mark.parametrize("fast", WAYS)
@pytest.mark.parametrize("degree", [1, 2, 3])
def test_every_reading_is_that_of_the_devices_chain(degree, fast) -> None:
    counts = history(degree, 3000)
    readings = replay(counts, calibrated(degree), fast=fast)
    own = zip(readings.flags.tolist(), readings.fine.tolist(), readings.divisions.tolist(), strict=True)
    assert list(own) == list(by_the_device(calibrated(degree), counts))


@pytest.mark.parametrize("fast", WAYS)
def test_a_compensated_reading_is_that_of_the_devices_chain_at_every_temperature(fast) -> None:
    """A temperature that wanders past the range of the compensation and is lost at times, in pieces."""
    counts = history(2, 3000)
    temperatures = [None if k % 700 > 650 else int(325 + 400 * np.sin(k / 400)) for k in range(3000)]
    as_recorded = np.array([np.nan if t is None else t / 16 for t in temperatures])
    device = Replay(COMPENSATED)
    pieces = [device.take(counts[a : a + 500], as_recorded[a : a + 500], fast=fast) for a in range(0, 3000, 500)]
    own = [row for piece in pieces for row in zip(piece.flags, piece.fine, piece.divisions, strict=True)]
    assert own == list(by_the_device(calibrated(2, Compensation(*COMPENSATION)), counts, temperatures))
    assert {bool(flags & COMPENSATION_HELD) for flags, *_ in own} == {True, False}
    without = replay(counts, COMPENSATED, fast=fast)
    at_reference = [fine for _, fine, _ in by_the_device(calibrated(2), counts)]
    assert without.fine.tolist() == at_reference  # which serves until a temperature is known


@pytest.mark.parametrize("fast", WAYS)
def test_the_indications_are_those_that_the_whole_device_sends(fast) -> None:
    """From its start, with an ADC that falls silent now and then; d = 5 g, so the last digit is 0 or 5."""
    bench = Bench()
    bench.ask(f'CAL:DATA "{falling_record().hex()}"')
    bench.ask("INIT:CONT ON")
    counts, sent = [-one // 64 if one > 0 else NO_COUNT for one in history(5, 600)], []
    for one in counts:
        if one == NO_COUNT:
            bench.clock.now_ms += 1000
            bench.run()
        else:
            bench.convert(one)
        sent.append(bench.console.lines()[0].split(",")[3::2])
    readings = replay(counts, decode(falling_record()), fast=fast)
    shown = [
        ["" if flags & FAULTS else str(5 * divisions), format_flags(flags)]
        for divisions, flags in zip(readings.divisions.tolist(), readings.flags.tolist(), strict=True)
    ]
    assert shown == sent
    assert len({row[0] for row in sent}) > 10


@needs_numba
@given(recordings, st.sampled_from([RECORD, calibrated(1), decode(record(1)), decode(falling_record())]))
def test_compiled_or_not_the_bits_are_the_same(counts, record) -> None:
    assert rows_of(replay(counts, record, fast=True)) == rows_of(replay(counts, record, fast=False))


@given(recordings, st.lists(st.integers(0, 900), max_size=5), st.lists(st.booleans(), min_size=6, max_size=6))
def test_pieces_cut_anywhere_give_what_the_whole_gives(counts, cuts, ways) -> None:
    whole = rows_of(replay(counts, RECORD, fast=False))
    device, rows = Replay(RECORD), []
    borders = [0, *sorted(cuts), len(counts)]
    for start, end, fast in zip(borders, borders[1:], ways, strict=False):
        rows += rows_of(device.take(counts[start:end], fast=fast and compiled.IS_AVAILABLE))
    assert rows == whole


@settings(max_examples=20)
@given(st.lists(st.integers(2_990_000, 3_010_000), min_size=1, max_size=300), st.integers(1, 400))
def test_a_file_gives_the_same_summary_as_csv_and_as_array_whatever_the_piece(tmp_path_factory, counts, rows) -> None:
    folder = tmp_path_factory.mktemp("replay")
    np.save(folder / "r.npy", np.array(counts, np.int64))
    lines = "".join(f"{k / 80},{one},,\n" for k, one in enumerate(counts))
    (folder / "r.csv").write_text(f"time_s,counts,temperature_c,load_g\n{lines}")
    readings = replay(counts, RECORD)
    for name in ("r.npy", "r.csv"):
        summary = replay_file(str(folder / name), RECORD)
        assert sum(summary.flags.values()) == len(counts)
        assert summary.flags == {flags: list(readings.flags).count(flags) for flags in set(readings.flags.tolist())}
        assert (summary.lowest, summary.highest) == (min(readings.divisions), max(readings.divisions))
        assert summary.last == readings.divisions[-1]


def test_a_file_is_handed_on_piece_by_piece(tmp_path) -> None:
    np.save(tmp_path / "r.npy", np.full(600_000, 3_000_000, np.int32))
    pieces = [len(counts) for _, counts, _ in read_counts(str(tmp_path / "r.npy"))]
    assert sum(pieces) == 600_000 and max(pieces) <= 1 << 18


@pytest.mark.parametrize("fast", WAYS[1:])
def test_memory_is_18_bytes_a_row_and_of_a_file_one_piece(tmp_path, fast) -> None:
    counts = np.full(600_000, 3_000_000, np.int32)
    np.save(tmp_path / "r.npy", counts)
    replay(counts[:10], RECORD, fast=fast)
    assert peak_of(lambda: replay(counts.copy(), RECORD, fast=fast)) < 18 * len(counts) + 100_000
    assert peak_of(lambda: replay_file(str(tmp_path / "r.npy"), RECORD)) < 45 * (1 << 18)


def peak_of(work) -> int:
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def test_nothing_replayed_is_nothing() -> None:
    assert rows_of(replay([], RECORD)) == []


def test_a_conversion_that_never_came_is_no_data() -> None:
    assert replay([3_000_000, NO_COUNT], RECORD).flags[-1] == NO_DATA


@pytest.mark.parametrize(
    ("counts", "reason"),
    [
        ([1.5], "float64 found; expected one of whole numbers"),
        ([[1, 2]], "2 dimensions"),
        (["1"], "expected one of whole numbers"),
        ([0, 1 << 23], "8388608 found; expected counts from -8388608 to 8388607"),
        ([0, -(1 << 23) - 1], "-8388609 found"),
        ([0, (1 << 32) + 5], "4294967301 found"),
        (np.array([0, 1 << 63], np.uint64), "9223372036854775808 found"),
        ([True], "bool found"),
    ],
)
def test_what_is_no_count_is_refused(counts, reason) -> None:
    with pytest.raises(InputError, match=reason):
        replay(counts, RECORD)


@pytest.mark.parametrize("content", [b"", b"\x93NUMPY", b"1,2\n", None])
def test_a_file_that_holds_no_array_is_refused(tmp_path, content) -> None:
    file = tmp_path / "r.npy"
    if content is not None:
        file.write_bytes(content)
    with pytest.raises(InputError, match=r"r\.npy: cannot be read"):
        replay_file(str(file), RECORD)


@pytest.mark.parametrize("array", [np.array(5), np.zeros((2, 2), int), np.array([1.0]), np.array([1 << 23])])
def test_an_array_of_something_else_is_refused(tmp_path, array) -> None:
    np.save(tmp_path / "r.npy", array)
    with pytest.raises(InputError, match=r"r\.npy"):
        replay_file(str(tmp_path / "r.npy"), RECORD)


def test_the_lowest_and_highest_indication_are_of_readings_without_a_fault(tmp_path) -> None:
    counts = [2_000_000] * 3 + [COUNTS_MAX] * 3 + [3_000_000] * 40 + [NO_COUNT]
    np.save(tmp_path / "r.npy", counts)
    summary = replay_file(str(tmp_path / "r.npy"), RECORD)
    expected = replay([2_000_000, NO_COUNT, 3_000_000], RECORD).divisions
    assert (summary.lowest, summary.highest, summary.last) == (expected[0], expected[2], expected[2])
    # 200 g lie between 200 037 and 5 196 057 counts (shared_calc_vectors), bowed by 0.1 %: 2 799 963 counts are 112.1 g
    assert summary.last == pytest.approx(1121, abs=2)
    np.save(tmp_path / "r.npy", [NO_COUNT])
    assert replay_file(str(tmp_path / "r.npy"), RECORD).last is None
