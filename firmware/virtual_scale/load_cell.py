"""A single-point strain-gauge cell with a platform on it: from the load to the bridge output in mV/V."""

import math

from virtual_scale.parameters import set_parameters
from virtual_scale.ringing import Ringing


class LoadCell:
    """A load cell of 5 kg, class C3 by OIML R 60-1:2021. Each parameter below can be changed by keyword.

    C3 allows (R 60-1 table 4 and 5.5, p_LC = 0.7, v = 5000 g / 3000): 0.35 v = 0.58 g up to 500 v, 0.7 v = 1.17 g up to
    2000 v, 1.05 v = 1.75 g above, for non-linearity, hysteresis and temperature of the span together; creep in 30 min
    0.735 v = 1.2 g = 0.0245 % of the load. The defaults use a part of that, as a usual specimen does.

    Why a scale of Max 3 kg, e = d = 1 g on this cell, calibrated to degree 3, passes class III (OIML R 76-1:2006 table
    6: 0.5 g up to 500 g, 1 g up to 2 kg, 1.5 g above): a cubic takes out both non-linear terms; what stays is half the
    hysteresis (0.12 g in the middle of 3 kg), creep left over from the loads before (below 0.2 g), noise (0.03 g).
    Twelve simulated calibrations at 10 and 80 readings a second, 1 to 10 s a load, stayed within 0.23 of the limits.
    """

    KIND = "a load cell"
    capacity_g = 5000.0
    rated_output_mv_per_v = 2.0  # typical, from memory
    zero_balance_mv_per_v = 0.02  # 1 % of rated output: typical, from memory
    # Greatest deviation from the line through zero and capacity, as a part of capacity; C3 allows 0.035 %
    nonlinearity_quadratic = 0.00015  # typical, from memory
    nonlinearity_cubic = -0.00005  # typical, from memory
    hysteresis = 0.00013  # greatest width of the loop to capacity, a part of capacity: typical, from memory
    # Creep: parts of the load gained with these time constants; 0.01 % in 30 min, 40 % of the C3 limit
    creep = ((0.00004, 15.0), (0.00006, 400.0))
    creep_factor = 1.0  # so many times as much creeps
    reference_c = 20.0
    # Zero: C3 allows p_LC v_min per 5 C; with v_min = capacity / 10000 that is 14e-6 of capacity per C: this is half
    zero_per_c = 7e-6
    span_per_c = 5e-6  # chosen so that all errors together keep the C3 limits from -10 to 40 C
    # Corners: change of the reading with the place of the load; 0.01 % at 100 mm: typical, from memory
    corner_x_per_mm = 1.0e-6
    corner_y_per_mm = -0.6e-6
    corner_xy_per_mm2 = 0.0  # with several cells: one whose sensitivity is off
    # The pan: its size, and its mass with all that the cell carries beside the load; the zero balance includes it
    pan_half_width_mm = 150.0
    pan_half_depth_mm = 150.0
    dead_load_g = 500.0  # a plate of aluminium of this size, 2 mm thick, is 486 g (computed); screws
    # Out of level: which part of a force along the pan reads as load. Of the order of 0.1 %: assumed
    side_force_x = 0.001
    side_force_y = -0.0005
    # Safe load limit as a part of capacity, and which part of the load above it stays as a shift of the zero.
    # OIML R 60-1, "safe load limit": the greatest load without a permanent shift; 1.5 typical, the rest assumed
    safe_load = 1.5
    overload_set = 0.01
    # After a change of the load: which part of it the platform overshoots by, how fast it rings, and for how long
    ring_share = 0.0
    ring_hz = 8.0
    ring_decay_s = 0.5

    def __init__(self, **parameters):
        set_parameters(self, parameters)
        self.load_g, self.x_mm, self.y_mm = 0.0, 0.0, 0.0
        self.tilt_per_mille = (0.0, 0.0)
        self._hysteresis = Hysteresis()
        self._ringing = Ringing()
        self._felt_g = 0.0  # the load as this corner and tilt pass it on
        self._bent_g = 0.0  # with non-linearity and hysteresis
        self._set_g = 0.0  # what overloads have left
        self._crept_g = [0.0 for _ in self.creep]
        self._crept_at_s = 0.0

    def place(self, load_g, time_s, x_mm=0.0, y_mm=0.0):
        """Let this be the whole load from now on, `x_mm` and `y_mm` from the middle of the platform."""
        self._creep_until(time_s)
        self.load_g, self.x_mm, self.y_mm = load_g, x_mm, y_mm
        self._press(time_s)

    def tilt(self, x_per_mille, y_per_mille, time_s):
        """Put the cell out of level from now on, by these slopes."""
        self._creep_until(time_s)
        self.tilt_per_mille = (x_per_mille, y_per_mille)
        self._press(time_s)

    def change(self, time_s, parameters):
        """Change parameters (name: value) at this moment."""
        self._creep_until(time_s)
        set_parameters(self, parameters)
        self._press(time_s)

    def output_mv_per_v(self, time_s, temperature_c, shaking_g=0.0):
        """Return the bridge output per volt of excitation at a moment after the last one asked for.

        shaking_g: a force on the platform that is gone before anything creeps.
        """
        self._creep_until(time_s)
        if self.ring_share:
            shaking_g += self._ringing.swing_g(time_s, self.ring_hz, self.ring_decay_s)
        warmer_c = temperature_c - self.reference_c
        bent_g = self._bent_g + sum(self._crept_g) + self._set_g + shaking_g
        signal = bent_g / self.capacity_g * (1 + self.span_per_c * warmer_c)
        return self.zero_balance_mv_per_v + self.rated_output_mv_per_v * (signal + self.zero_per_c * warmer_c)

    def _press(self, time_s):
        """Bend under load, place and tilt as they are now."""
        felt_g = self._force_g()
        self._ringing.strike(self.ring_share * (self._felt_g - felt_g), time_s, self.ring_hz, self.ring_decay_s)
        self._felt_g = felt_g
        hysteresis_g = self._hysteresis.move_to(felt_g) * 2 * self.hysteresis / self.capacity_g
        self._bent_g = felt_g + self._nonlinearity_g(felt_g / self.capacity_g) + hysteresis_g
        self._set_g = max(self._set_g, self.overload_set * (felt_g - self.safe_load * self.capacity_g))

    def _force_g(self):
        """Return the force on the cell beyond that of the dead load in level, as grams.

        Slopes p and q leave 1 / sqrt(1 + p**2 + q**2) of the weight square to the pan, and p and q times that along it.
        """
        x_mm, y_mm = self.x_mm, self.y_mm
        corner = self.corner_x_per_mm * x_mm + self.corner_y_per_mm * y_mm + self.corner_xy_per_mm2 * x_mm * y_mm
        x_slope, y_slope = self.tilt_per_mille[0] / 1000, self.tilt_per_mille[1] / 1000
        cosine = 1 / math.sqrt(1 + x_slope * x_slope + y_slope * y_slope)
        along_g = (self.load_g + self.dead_load_g) * cosine
        side_g = along_g * (self.side_force_x * x_slope + self.side_force_y * y_slope)
        return self.load_g * (1 + corner) * cosine + self.dead_load_g * (cosine - 1) + side_g

    def _nonlinearity_g(self, s):
        """Quadratic and cubic deviation, each 0 at no load and capacity; the factors make their greatest value 1."""
        quadratic = 4 * s * (1 - s)
        cubic = 6 * math.sqrt(3) * s * (1 - s) * (1 - 2 * s)
        return self.capacity_g * (self.nonlinearity_quadratic * quadratic + self.nonlinearity_cubic * cubic)

    def _creep_until(self, time_s):
        """Each part of the creep nears its share of the load exponentially, and goes back the same way."""
        for k in range(len(self.creep)):
            share, time_constant_s = self.creep[k]
            final_g = share * self.creep_factor * self._felt_g
            remaining = math.exp((self._crept_at_s - time_s) / time_constant_s)
            self._crept_g[k] = final_g + (self._crept_g[k] - final_g) * remaining
        self._crept_at_s = time_s


class Hysteresis:
    """Rayleigh's law: since the last reversal the deviation changes by distance**2, with its sign, times a strength.

    Loops close by themselves: a load that passes an earlier turn goes on as if the small loop had not been
    (return-point memory). The widest loop, 0 to P and back, is P**2 / 2 wide in its middle, times the strength.
    Law: Lord Rayleigh, Phil. Mag. 23 (1887) 225, found for magnets; taken here as the simplest law that closes loops.
    """

    def __init__(self):
        self._turns = [(0.0, 0.0)]  # (load, deviation) where each branch not yet closed began
        self._load_g = 0.0
        self._deviation_g = 0.0

    def move_to(self, load_g):
        """Go straight to this load and return the deviation there, for a strength of 1 per g."""
        here_g = self._load_g
        if load_g == here_g:
            return self._deviation_g
        turns = self._turns
        rises = load_g > here_g
        if here_g != turns[-1][0] and rises != (here_g > turns[-1][0]):
            turns.append((here_g, self._deviation_g))
        while len(turns) > 1 and (load_g >= turns[-2][0] if rises else load_g <= turns[-2][0]):
            del turns[-2 if len(turns) > 2 else -1:]
        turn_g, deviation_g = turns[-1]
        distance_g = load_g - turn_g
        self._load_g = load_g
        self._deviation_g = deviation_g + distance_g * abs(distance_g)
        return self._deviation_g
