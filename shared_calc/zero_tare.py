"""Zero and tare: what is taken off the curve's value before it is rounded, and when it may be set.

    gross = curve - zero        net = gross - tare        only net is rounded, so nothing is lost

All are in units of d / 2**binary_exponent, as the curve is, and d stands for e. Limits of OIML R 76-1:2006, clause
numbers and figures from memory: zero-setting and zero-tracking together move the zero by at most 4 % of Max and the
initial zero-setting by at most 20 % (4.5.1); the zero is set to the value itself, well within 0.25 e (4.5.2);
zero-tracking acts only where gross rounds to zero, at rest, by at most 0.5 d in any second (4.5.7); tare is a load
above zero and within Max, and Max stays that of the gross value (4.6). All but clearing asks for a load at rest.

Plain functions of the state (chain_state.py), in integers that stay small. Those that may refuse return the number of
the reason in REASONS, 0 where it is done. capacity: Max in that unit.
"""

from shared_calc.chain_state import FINE, FLAGS, INITIAL, TARE, WAITED, ZERO
from shared_calc.reading import FAULTS, MOVING
from shared_calc.rounding import difference

DONE, NO_INDICATION, NOT_AT_REST, TOO_FAR, TOO_FAR_INITIALLY, TARE_IN_USE, ZERO_IN_USE, NO_LOAD, TOO_HEAVY = range(9)
REASONS = (
    "",
    "there is no indication",
    "the load is not at rest",
    "further than 4 % of Max from zero: unload the scale",
    "further than 20 % of Max from zero: unload the scale",
    "clear the tare first",
    "zero or tare is set already",
    "there is no load above zero",
    "the load is above Max",
)
_PARTS_OF_MAX = 25  # 4 %
_INITIAL_PARTS_OF_MAX = 5  # 20 %
_SECOND = 1024  # ms; a little longer than one, so that a shift divides by it


def clear(state):
    """Go back to the zero of the calibration, without tare."""
    state[ZERO] = state[INITIAL] = state[TARE] = state[WAITED] = 0


def set_zero(state, capacity):
    """Let what lies on the scale be zero, within 4 % of Max from the calibrated or the initial zero."""
    refused = _why_not(state)
    if refused:
        return refused
    if state[TARE]:
        return TARE_IN_USE
    if not _is_within(difference(state[FINE], state[INITIAL]), capacity // _PARTS_OF_MAX):
        return TOO_FAR
    state[ZERO] = state[FINE]
    return DONE


def set_initial_zero(state, capacity):
    """Let what lies on the scale be the zero to start from, within 20 % of Max from the calibrated one."""
    refused = _why_not(state)
    if refused:
        return refused
    if state[ZERO] or state[TARE]:
        return ZERO_IN_USE
    if not _is_within(state[FINE], capacity // _INITIAL_PARTS_OF_MAX):
        return TOO_FAR_INITIALLY
    state[ZERO] = state[INITIAL] = state[FINE]
    return DONE


def set_tare(state, capacity):
    """Take the load as tare, in place of any before."""
    refused = _why_not(state)
    if refused:
        return refused
    gross = difference(state[FINE], state[ZERO])
    if gross <= 0:
        return NO_LOAD
    if gross > capacity:
        return TOO_HEAVY
    state[TARE] = gross
    return DONE


def track_zero(state, division, capacity, elapsed_ms):
    """Follow a zero that drifts; to be called after each reading. division: d. elapsed_ms: since the call before.

    A correction is at most a quarter of d for each second since the last, and none counts more than one second: so two
    in any second, and whatever is between them, come to no more than half of d.
    """
    state[WAITED] = min(state[WAITED] + min(elapsed_ms, _SECOND), _SECOND)
    if state[FLAGS] & (FAULTS | MOVING) == 0:
        _approach(state, division >> 1, capacity // _PARTS_OF_MAX)


def _approach(state, half, limit):
    gross = difference(state[FINE], state[ZERO])
    if -half <= gross < half:
        most = _share_of(half >> 1, state[WAITED])
        step = max(-most, min(most, gross))
        if step and _is_within(difference(state[ZERO] + step, state[INITIAL]), limit):
            state[ZERO] += step
            state[WAITED] = 0


def _why_not(state):
    if state[FLAGS] & FAULTS:
        return NO_INDICATION
    return NOT_AT_REST if state[FLAGS] & MOVING else DONE


def _is_within(value, limit):
    return -limit <= value <= limit


def _share_of(value, waited):
    """Return value * waited / _SECOND, never more."""
    return (value >> 10) * waited if value >> 19 else value * waited >> 10
