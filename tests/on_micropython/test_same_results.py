"""shared_calc gives the same results, bit for bit, on CPython, the unix port and a Cortex-M0 with 31-bit integers."""

import pytest

from shared_calc import coefficient_record
from shared_calc.temperature import Compensation
from tests.on_micropython import shared_calc_vectors
from tests.on_micropython.cortex_m0 import CortexM0
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


def test_a_reading_takes_no_heap_on_the_cortex_m0(cortex_m0: CortexM0) -> None:
    """Curve.evaluate and MeasuringChain.take, 50 times each with collection off, by gc.mem_alloc."""
    cortex_m0.load(
        *("curve", "rounding", "reading", "measuring_chain"),
        without=("span_of", "quantise", "check", "_flattest_slope", "parse_flags", "format_reading", "parse_reading"),
    )
    cortex_m0.run(
        "import gc\n"
        "class Record: pass\n"
        "def heap_used(weigh, first):\n"
        " gc.collect()\n gc.disable()\n before=gc.mem_alloc()\n"
        " for i in range(50): weigh(first+i)\n"
        " used=gc.mem_alloc()-before\n gc.enable()\n return used"
    )
    for degree in DEGREES:
        curve = shared_calc_vectors.calibrated(degree).curve
        cortex_m0.run(
            "gc.collect()\nr=Record()\nr.mantissa=1\nr.power_of_ten=-1\nr.max_divisions=2000\n"
            f"r.curve=Curve({curve.centre},{curve.shift},{curve.binary_exponent},{curve.coefficients})\n"
            "m=MeasuringChain()\nm.use(r)"
        )
        first = curve.centre + 123_456
        assert cortex_m0.run(f"print(heap_used(r.curve.evaluate,{first}),heap_used(m.take,{first}))") == "0 0\n"
        assert cortex_m0.run("print(m.counts,m.fine)") == f"{first + 49} {curve.evaluate(first + 49)}\n"
        # The measurement itself can see heap: a big integer takes some.
        assert int(cortex_m0.run(f"print(heap_used(lambda n: n << 31,{first}))")) > 0


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
