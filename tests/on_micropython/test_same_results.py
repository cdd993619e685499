"""shared_calc gives the same results, bit for bit, on CPython, the unix port and a Cortex-M0 with 31-bit integers."""

import pytest

from shared_calc import coefficient_record, zero_tare
from shared_calc.chain_state import DIVISIONS, FINE, FLAGS, MOVED_SPAN, MOVED_ZERO, TARE, UNLOADED, ZERO, new_state
from shared_calc.measuring_chain import miss, scale_of, take
from shared_calc.reading import NO_DATA
from shared_calc.rounding import FURTHEST
from shared_calc.temperature import Compensation
from tests.on_micropython import shared_calc_vectors
from tests.on_micropython.cortex_m0 import MICROSECONDS_PER_INSTRUCTION, CortexM0
from tests.on_micropython.runtimes import UnixPort

DEGREES = (1, 2, 3)


def test_the_unix_port_prints_the_same_for_every_vector(
    unix_port: UnixPort, capsys: pytest.CaptureFixture[str]
) -> None:
    shared_calc_vectors.main()
    expected = capsys.readouterr().out
    assert len(expected) > 10_000
    assert unix_port.run("from tests.on_micropython.shared_calc_vectors import main; main()") == expected


def test_the_cortex_m0_makes_the_same_record_bytes_of_the_same_calibration(cortex_m0: CortexM0) -> None:
    """In two stages, for 9.4 kB of heap: fit and quantise, then, after a reset, encode the curve's exact integers."""
    cortex_m0.load("fit", "curve", "calibration", without=("fit_linear", "gram_matrix", "invert", "coverage"))
    v = shared_calc_vectors
    cortex_m0.run(f"X={v.CALIBRATION_COUNT_SUMS}\nL={v.CALIBRATION_LOADS_MG}\nW={v.CALIBRATION_WEIGHTS}")
    curves = [
        cortex_m0.run(
            f"c=curve_through(X,{v.CALIBRATION_READINGS},L,W,{degree},{v.CALIBRATION_DIVISION_MG},*{v.CALIBRATION_RANGE})\n"
            "print((c.centre,c.shift,c.binary_exponent,c.coefficients))"
        )
        for degree in DEGREES
    ]
    cortex_m0.reset()
    unused = ("span_of", "quantise", "multiply", "evaluate", "covers")
    cortex_m0.load("crc32", "curve", "coefficient_record", without=unused)
    for degree, curve in zip(DEGREES, curves, strict=True):
        expected = coefficient_record.encode(shared_calc_vectors.calibrated(degree))
        cortex_m0.run("gc.collect()")
        cortex_m0.run(f"d=encode(CoefficientRecord(Curve(*{curve.strip()}),1,-1,2000))")
        assert cortex_m0.run("print(d)") == f"{expected!r}\n"
        assert cortex_m0.run("print(identity(encode(decode(d))))") == f"{coefficient_record.identity(expected)}\n"


def test_readings_on_the_cortex_m0_are_the_same_and_take_no_heap(cortex_m0: CortexM0) -> None:
    """`take` and `miss` with collection off, by gc.mem_alloc: steps, drifts, spikes, noise, breaks, zero and tare."""
    _load_chain(cortex_m0)
    cortex_m0.run(
        "def hear(history):\n"
        " used=0\n"
        " for n in history:\n"
        "  gc.collect()\n  gc.disable()\n  before=gc.mem_alloc()\n"
        "  if n is None: miss(s,1)\n  else: take(s,c,n)\n"
        "  used+=gc.mem_alloc()-before\n  gc.enable()\n"
        "  print(s[FLAGS],s[FINE],s[DIVISIONS])\n"
        " print(used)"
    )
    for degree in DEGREES:
        scale, state = scale_of(shared_calc_vectors.calibrated(degree)), new_state()
        state[ZERO], state[TARE] = 777 * (degree - 1), 99999 * (degree - 1)
        state[UNLOADED], state[MOVED_ZERO], state[MOVED_SPAN] = 200_037, 30_000 * (degree - 1), 5_000_000 * (2 - degree)
        cortex_m0.run(f"c={scale}\ns={state}")
        history = shared_calc_vectors.load_history(degree, 300)
        for start in range(0, len(history), 20):
            expected = ""
            for counts in history[start : start + 20]:
                miss(state, NO_DATA) if counts is None else take(state, scale, counts)
                expected += f"{state[FLAGS]} {state[FINE]} {state[DIVISIONS]}\n"
            assert cortex_m0.run(f"hear({history[start:start + 20]})".replace(" ", "")) == f"{expected}0\n"
    # The measurement itself can see heap: a big integer takes some.
    assert int(cortex_m0.run("take=lambda s,c,n:n<<31\nhear((5,))").split()[-1]) > 0


def test_a_reading_takes_a_sixteenth_of_a_core_at_80_a_second(cortex_m0: CortexM0) -> None:
    """Compensated, of 125 MHz at one instruction a cycle: 97 656 instructions; the emulator's clock counts them."""
    _load_chain(cortex_m0)
    cortex_m0.run("import utime\ns=new_state()\ns[UNLOADED],s[MOVED_ZERO],s[MOVED_SPAN]=200000,-30000,5000000")
    for degree in DEGREES:
        cortex_m0.run(f"c={scale_of(shared_calc_vectors.calibrated(degree))}")
        times_us = []
        for what in ("take(s,c,n)", "n"):
            cortex_m0.run("gc.collect()")
            cortex_m0.run(f"a=utime.ticks_us()\nfor n in range(3000000,3000100):d={what}\nb=utime.ticks_us()")
            times_us.append(int(cortex_m0.run("print(b-a)")))
        instructions = (times_us[0] - times_us[1]) / MICROSECONDS_PER_INSTRUCTION / 100
        assert instructions < 125_000_000 / 80 / 16


def _load_chain(board: CortexM0) -> None:
    """Load what weighs. The largest module comes first, while the heap is still in one piece."""
    board.load(
        *("measuring_chain", "conditioning", "chain_state", "curve", "rounding", "reading", "stability", "temperature"),
        without=(
            *("MeasuringChain", "scale_of", "Curve", "CurveError", "SPAN", "LIMIT", "MAX_DEGREE", "PARTS_OF_A_COUNT"),
            *("span_of", "quantise", "check", "_flattest_slope", "format_divisions"),
            *("Compensation", "CompensationError", "_polynomial", "format_temperature", "PARTS_OF_A_DEGREE", "REACH"),
            *("feel", "ZERO_UNITS", "SPAN_UNITS", "MOST_ZERO", "MOST_SPAN", "MOST_ZERO_COUNTS"),
            *("ReadingError", "FLAG_NAMES", "parse_flags", "format_flags", "format_reading", "parse_reading"),
        ),
    )


def test_compensation_on_the_cortex_m0_gives_the_same_counts_and_takes_no_heap(cortex_m0: CortexM0) -> None:
    """At the edges of the ADC's range and past those of the temperatures; by gc.mem_alloc with collection off."""
    cortex_m0.load(
        *("curve", "temperature"), without=("Curve", "evaluate", "span_of", "quantise", "check", "_flattest_slope")
    )
    here = Compensation(*shared_calc_vectors.COMPENSATION)
    in_record = coefficient_record.encode(shared_calc_vectors.calibrated(3, here))[32:-4]
    cortex_m0.run(
        f"import gc,struct\nc=Compensation(*{here.fields})\n"
        "def heap_used(temperature, counts):\n"
        " gc.collect()\n gc.disable()\n before=gc.mem_alloc()\n"
        " c.follow(temperature)\n c.correct(counts)\n"
        " used=gc.mem_alloc()-before\n gc.enable()\n return used"
    )
    assert cortex_m0.run("print(struct.pack('<hbb5i',*c.fields))") == f"{in_record!r}\n"
    for temperature in (-1000, -160, 0, 325, 641):
        for counts in (-0x800000, -1, 200_037, 0x7FFFFF):
            is_sure = here.follow(temperature)
            ask = f"print(heap_used({temperature},{counts}),c.follow({temperature}),c.correct({counts}))"
            assert cortex_m0.run(ask) == f"0 {is_sure} {here.correct(counts)}\n"


def test_zero_and_tare_on_the_cortex_m0_are_the_same_and_take_no_heap(cortex_m0: CortexM0) -> None:
    """Zero-tracking after each reading, zero-setting and tare, up to where small integers end; by gc.mem_alloc."""
    cortex_m0.load(
        *("zero_tare", "chain_state", "reading", "rounding"),
        without=("ReadingError", "parse_flags", "format_flags", "parse_reading", "format_reading", "format_divisions"),
    )
    cortex_m0.run("import gc\ns=new_state()")
    cortex_m0.run(
        "def used(f,*a):\n gc.collect()\n gc.disable()\n b=gc.mem_alloc()\n"
        " r=f(s,a[0]) if len(a)==1 else f(s,a[0],a[1],a[2])\n u=gc.mem_alloc()-b\n gc.enable()\n return u,r"
    )
    state, capacity = new_state(), 1 << 29
    for k, fine in enumerate((0, 3000, -70000, FURTHEST // 30, FURTHEST - 5, -FURTHEST)):
        state[FINE] = fine
        cortex_m0.run(f"s[FINE]={fine}")
        calls = ("track_zero", 1 << 18, capacity, 100 + k), ("set_zero", capacity), ("set_tare", capacity)
        for name, *arguments in calls:
            answer = getattr(zero_tare, name)(state, *arguments)
            call = ",".join(map(str, (name, *arguments)))
            assert cortex_m0.run(f"u,r=used({call})\nprint(u)\nprint(r,s)") == f"0\n{answer} {state}\n"
