"""shared_calc gives the same results, bit for bit, on CPython, the unix port and a Cortex-M0 with 31-bit integers."""

import pytest

from shared_calc import coefficient_record
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.measuring_chain import MeasuringChain, scale_of
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
        cortex_m0.run(f"d=encode(CoefficientRecord(Curve(*{curve.strip()}),1,-1,2000))")
        assert cortex_m0.run("print(d)") == f"{expected!r}\n"
        assert cortex_m0.run("print(identity(encode(decode(d))))") == f"{coefficient_record.identity(expected)}\n"


def test_readings_on_the_cortex_m0_are_the_same_and_take_no_heap(cortex_m0: CortexM0) -> None:
    """MeasuringChain.take and miss with collection off, by gc.mem_alloc: steps, drifts, spikes, noise and breaks."""
    _load_chain(cortex_m0)
    cortex_m0.run("class Record: pass\nm=MeasuringChain()")
    cortex_m0.run(
        "def hear(history):\n"
        " used=0\n"
        " for n in history:\n"
        "  gc.collect()\n  gc.disable()\n  before=gc.mem_alloc()\n"
        "  if n is None: m.miss(1)\n  else: m.take(n)\n"
        "  used+=gc.mem_alloc()-before\n  gc.enable()\n"
        "  print(m.flags,m.fine,m.divisions)\n"
        " print(used)"
    )
    chain = MeasuringChain()
    for degree in DEGREES:
        record = shared_calc_vectors.calibrated(degree)
        _use(cortex_m0, record)
        chain.use(record)
        history = shared_calc_vectors.load_history(degree, 300)
        for start in range(0, len(history), 20):
            expected = ""
            for counts in history[start : start + 20]:
                shared_calc_vectors.take(chain, counts)
                expected += f"{chain.flags} {chain.fine} {chain.divisions}\n"
            assert cortex_m0.run(f"hear({history[start:start + 20]})".replace(" ", "")) == f"{expected}0\n"
    # The measurement itself can see heap: a big integer takes some.
    assert int(cortex_m0.run("m.take=lambda n:n<<31\nhear((5,))").split()[-1]) > 0


def test_a_reading_takes_a_twentieth_of_a_core_at_80_a_second(cortex_m0: CortexM0) -> None:
    """Of 125 MHz at one instruction a cycle: 78 125 instructions; the emulator's clock counts them."""
    _load_chain(cortex_m0, "MeasuringChain", "scale_of")
    cortex_m0.run("import utime\ns=new_state()")
    for degree in DEGREES:
        cortex_m0.run(f"c={scale_of(shared_calc_vectors.calibrated(degree))}")
        times_us = []
        for what in ("take(s,c,n)", "n"):
            cortex_m0.run("gc.collect()")
            cortex_m0.run(f"a=utime.ticks_us()\nfor n in range(3000000,3000100):d={what}\nb=utime.ticks_us()")
            times_us.append(int(cortex_m0.run("print(b-a)")))
        instructions = (times_us[0] - times_us[1]) / MICROSECONDS_PER_INSTRUCTION / 100
        assert instructions < 125_000_000 / 80 / 20


def _load_chain(board: CortexM0, *without: str) -> None:
    """Load the measuring chain. The largest module comes first, while the heap is still in one piece."""
    board.load(
        *("measuring_chain", "conditioning", "chain_state", "curve", "rounding", "reading", "stability"),
        without=(
            *("Curve", "span_of", "quantise", "check", "_flattest_slope", "format_divisions", "indication"),
            *("ReadingError", "parse_flags", "format_flags", "format_reading", "parse_reading"),
            *without,
        ),
    )


def _use(board: CortexM0, record: CoefficientRecord) -> None:
    curve = record.curve
    board.run("gc.collect()")
    board.run("r=Record()\nr.curve=r")
    board.run(f"r.centre,r.shift,r.half,r.rises={curve.centre},{curve.shift},{curve.half},{curve.rises}")
    board.run(f"r.binary_exponent,r.max_divisions={curve.binary_exponent},{record.max_divisions}")
    board.run(f"r.coefficients={curve.coefficients}\nm.use(r)")


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
