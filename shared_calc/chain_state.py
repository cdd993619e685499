"""What the measuring chain remembers from one reading to the next: one list of small ints, and what stands where.

A list, so that a reading allocates no heap; one, so that a compiler for arrays may take the chain's functions as they
are, with an array in its place.
"""

# conditioning.py
MEAN = 0  # whole counts of the mean; the rest is REMAINDER / NUMBER
REMAINDER = 1
NUMBER = 2  # readings in the mean; 0: nothing taken yet
LONGEST = 3  # the most readings in the mean
STRAY = 4  # the side of the mean, 1 or -1, on which the last reading was a stray; 0: it was none
NOISE = 5  # half the mean size of second differences, in 1/256 count
LEARNT = 6  # readings the noise was learnt from, as far as that matters
PREVIOUS = 7  # the raw count before
BEFORE = 8  # and the one before that
EVIDENCE = 9  # of a step: the sum in 1/16 count, above 0 for a step up
SINCE = 10  # readings since the evidence began
DRIFT = 11  # the sum of their deviations from BASE
BASE = 12

# stability.py
ANCHOR = 13  # the indication that others are compared with
AGREEING = 14  # readings in a row that agree with it

# measuring_chain.py: the latest reading
CONDITIONED = 15  # counts
FINE = 16  # the value of the curve, in units of d / 2**binary_exponent, as all below but DIVISIONS and WAITED
DIVISIONS = 17  # the indication
FLAGS = 18

# zero_tare.py
ZERO = 19  # 0: that of the calibration
INITIAL = 20  # where initial zero-setting has put it
TARE = 21
WAITED = 22  # ms since zero-tracking last moved the zero, as far as that matters

# temperature.py: what the temperature of the cell does
UNLOADED = 23  # counts of the empty scale at the reference temperature
MOVED_ZERO = 24
MOVED_SPAN = 25
HELD = 26  # COMPENSATION_HELD or 0

SIZE = 27

LONGEST_MEAN = 32
FIRST_NOISE = 16 << 8  # 16 counts: about what a 24-bit converter on a load cell has


def new_state(longest=LONGEST_MEAN):
    """Return the state before any reading. longest: of the mean, in readings; an even number from 2 to 64."""
    state = [0] * SIZE
    state[LONGEST] = longest
    state[NOISE] = FIRST_NOISE
    return state
