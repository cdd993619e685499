"""Prints what shared_calc makes of many inputs. Run by CPython and by MicroPython: every line must be the same.

The values themselves are proven on CPython in tests/shared_calc.
"""

from shared_calc import coefficient_record, crc32, link_frame, reading, rounding
from shared_calc.calibration import curve_through
from shared_calc.coefficient_record import CoefficientRecord
from shared_calc.measuring_chain import MeasuringChain
from shared_calc.temperature import Compensation, format_temperature

try:
    from micropython import heap_lock, heap_unlock
except ImportError:

    def heap_lock():
        pass

    heap_unlock = heap_lock

# Sums of 16 raw counts at 0 g to 200 g and back: invented, bowed by 0.1 % and with a little hysteresis.
CALIBRATION_COUNT_SUMS = [
    3200592,
    11192784,
    19185296,
    27178128,
    35171280,
    43164752,
    51158544,
    59152656,
    67147088,
    75141840,
    83136912,
] + [75143104, 67148768, 59154448, 51160224, 43166112, 35171888, 27179568, 19186384, 11193328, 3200688]
CALIBRATION_READINGS = 16
CALIBRATION_LOADS_MG = [abs(200 - abs(20 * i - 200)) * 1000 for i in range(21)]
CALIBRATION_WEIGHTS = [1 + i % 4 for i in range(21)]
CALIBRATION_DIVISION_MG = 100
CALIBRATION_RANGE = (190000, 5500000)
# Made for -10 to 40 C about 20.3125 C; zero 30 counts and span 20e-6 in 1 C, both a little curved: invented.
COMPENSATION = (325, -10, 40, 200037, 491520, -24000, 5497558, 110000)


def pseudo_random(seed):
    """Yield the same 32-bit numbers everywhere (the generator of Numerical Recipes, 2nd ed., 7.1, ranqd1)."""
    while True:
        seed = (1664525 * seed + 1013904223) & 0xFFFFFFFF
        yield seed


def calibrated(degree, compensation=None):
    """Return the record of a load cell of our own scenario, loaded with 0 g to 200 g and back in steps of 20 g."""
    curve = curve_through(
        CALIBRATION_COUNT_SUMS,
        CALIBRATION_READINGS,
        CALIBRATION_LOADS_MG,
        CALIBRATION_WEIGHTS,
        degree,
        CALIBRATION_DIVISION_MG,
        CALIBRATION_RANGE[0],
        CALIBRATION_RANGE[1],
    )
    return CoefficientRecord(curve, 1, -1, 2000, compensation)


def print_record(degree):
    data = coefficient_record.encode(calibrated(degree))
    print(list(data), coefficient_record.identity(data))
    record = coefficient_record.decode(data)
    print(record.curve.coefficients, record.curve.guaranteed_parts(), record.mantissa, record.max_divisions)


def print_refusals(data):
    """Print what is said about a record with one byte changed, for every byte."""
    for i in range(len(data)):
        changed = bytearray(data)
        changed[i] ^= 1 << i % 8
        try:
            coefficient_record.decode(bytes(changed))
            print("accepted", i)
        except coefficient_record.CoefficientError as error:
            print(i, error)


def load_history(seed, number):
    """Return raw counts with noise on a load that is changed, drifts and is knocked; None where no count came."""
    numbers = pseudo_random(seed)
    history = []
    level, slope = 3000000, 0
    for _ in range(number):
        level += slope
        noise = sum([next(numbers) >> 25 for _ in range(4)]) - 252
        happening = next(numbers) >> 24
        if happening < 4:
            level, slope = next(numbers) % (6 << 20), 0
        elif happening < 8:
            level += next(numbers) >> 22
        elif happening < 12:
            slope = (next(numbers) >> 24) - 128
        elif happening < 16:
            noise += next(numbers) >> 9
        history.append(None if happening == 16 else 0x7FFFFF if happening == 17 else min(level + noise, 0x7FFFFE))
    return history


def take(chain, counts, temperature=None):
    """Let the chain take a count, or miss one that did not come; either may not touch the heap."""
    heap_lock()
    chain.feel(temperature)
    if counts is None:
        chain.miss(reading.NO_DATA)
    else:
        chain.take(counts)
    heap_unlock()


def print_weighing(degree):
    chain = MeasuringChain()
    chain.use(calibrated(degree, None if degree == 1 else Compensation(*COMPENSATION)))
    temperature = 300
    for counts in load_history(degree, 2000):
        temperature += 1 if counts is None or counts & 8 else -1
        take(chain, counts, temperature)
        print(counts, chain.flags, chain.fine, chain.indication())


def print_compensation():
    """Print corrected counts over the ADC's range and past the temperatures; to correct may not touch the heap."""
    compensation = Compensation(*COMPENSATION)
    numbers = pseudo_random(3)
    for temperature in range(-200, 700, 7):
        counts = (next(numbers) & 0xFFFFFF) - 0x800000
        heap_lock()
        is_sure = compensation.follow(temperature)
        corrected = compensation.correct(counts)
        heap_unlock()
        print(is_sure, compensation.zero, compensation.span, corrected, format_temperature(temperature))


def print_frames():
    numbers = pseudo_random(7)
    for length in range(60):
        text = "".join([chr(32 + next(numbers) % 94) for _ in range(length)])
        frame = link_frame.encode(None if length % 7 == 0 else next(numbers) & 0xFFFF, text)
        print(frame, link_frame.decode(frame))
        damaged = list(frame)
        damaged[next(numbers) % len(damaged)] = chr(32 + next(numbers) % 95)
        try:
            print(link_frame.decode("".join(damaged)))
        except link_frame.FrameError as error:
            print(error)


def print_readings():
    numbers = pseudo_random(11)
    for flags in range(128):
        counts = None if flags & 1 else (next(numbers) & 0xFFFFFF) - 0x800000
        text = reading.format_reading(next(numbers), next(numbers), counts, "%d.5" % flags, "", flags)
        print(text, reading.parse_reading(text))


def print_decimals():
    numbers = pseudo_random(13)
    for power_of_ten in range(-9, 10):
        divisions = (next(numbers) & 0x7FFFFF) - 0x400000
        print([rounding.format_divisions(d, m, power_of_ten) for d in (0, -1, 7, divisions) for m in (1, 2, 5)])
    for exponent in range(1, 30):
        fine = (next(numbers) & 0x7FFFFFFF) - 0x40000000
        print(rounding.round_to_division(fine, exponent))


def main():
    for degree in (1, 2, 3):
        print_record(degree)
        print_weighing(degree)
    print_refusals(coefficient_record.encode(calibrated(3, Compensation(*COMPENSATION))))
    print_compensation()
    print_frames()
    print_readings()
    print_decimals()
    print([crc32.crc32(bytes(range(n))) for n in range(40)])


if __name__ == "__main__":
    main()
