"""Is the load at rest? It is, once so many readings in a row have stayed within half a division of the first of them.

Stable equilibrium as OIML R 76-1:2006, 4.4.2 uses the word: what is shown now is what will be shown. The readings are
conditioned ones, so a false "at rest" takes a movement slower than half a division in that many readings.
"""

from shared_calc.chain_state import AGREEING, ANCHOR

ENOUGH = 16  # readings in a row


def forget_readings(state):
    """Let the load be at rest no sooner than after ENOUGH readings more."""
    state[AGREEING] = 0


def is_at_rest(state, fine, half_division):
    """Take an indication and return whether the last ENOUGH agree. fine, half_division: in one unit."""
    if state[AGREEING] and -half_division <= fine - state[ANCHOR] <= half_division:
        if state[AGREEING] < ENOUGH:
            state[AGREEING] += 1
    else:
        state[ANCHOR] = fine
        state[AGREEING] = 1
    return state[AGREEING] == ENOUGH
