# SPDX-License-Identifier: GPL-3.0-or-later
"""First order behind a dead time, simulated and fitted by SciPy alone: what test_reference holds the
library's lag against."""
import math

import numpy as np
from scipy import optimize


def response(at, change_s, dead_s, tau_open, tau_close, targets, start):
    """First order behind a dead time, exact at any spacing; `targets` are what the commands ask for."""
    felt = change_s + dead_s
    out = np.empty(len(at))
    x, now, target, k = start, at[0], targets[0], 0
    for i, t in enumerate(at):
        while k < len(felt) and felt[k] <= t:
            x = target + (x - target) * math.exp(-(max(felt[k], now) - now) / (tau_open if target > x else tau_close))
            now = max(felt[k], now)
            k += 1
            target = targets[k]
        x = target + (x - target) * math.exp(-(t - now) / (tau_open if target > x else tau_close))
        now = t
        out[i] = x
    return out


def output_error(at, command, level, on_rows, between_stops):
    """SciPy's own fit of dead time, tau each way, a straight line with stops: least squares on the output.
    A change is taken to happen half-way between the rows that show it. `on_rows`: it happens on the row itself,
    and one tau serves both ways."""
    moved = np.flatnonzero(np.diff(command) != 0)
    change_s = at[moved + 1] if on_rows else 0.5 * (at[moved] + at[moved + 1])
    asked = np.concatenate([[command[0]], command[moved + 1]])
    stops = np.quantile(level, [0.01, 0.99])

    def residual(b):
        dead, log_open, log_close, offset, gain = b[:5]
        targets = offset + gain * asked
        if between_stops:
            targets = np.clip(targets, b[5], b[6])
        tau_open, tau_close = math.exp(log_open), math.exp(log_open if on_rows else log_close)
        return response(at, change_s, dead, tau_open, tau_close, targets, level[0]) - level

    gain = np.polyfit(command, level, 1)
    best = None
    for dead in (0.05, 0.15, 0.25):
        start = [dead, math.log(0.3), math.log(0.3), gain[1], gain[0], *stops][:7 if between_stops else 5]
        scale = [0.02, 0.1, 0.1, 0.05, 0.01, 0.05, 0.05][:len(start)]
        fit = optimize.least_squares(residual, start, x_scale=scale, diff_step=1e-4, loss="soft_l1", f_scale=0.03)
        best = fit if best is None or fit.cost < best.cost else best
    dead, log_open, log_close, _, gain = best.x[:5]
    return dead, math.exp(log_open), math.exp(log_open if on_rows else log_close), gain
