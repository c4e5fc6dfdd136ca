#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What one would write in an afternoon with pandas, NumPy and SciPy to read, fit and judge a capture:
the yardstick of bench_scipy, not part of the program. Whole columns at a time; the only loop in
Python is over held stretches.

  judge_with_scipy.py CAPTURE...      a line each: file, finding, t63, stick band, seconds"""
import sys, time
import numpy as np, pandas as pd
from scipy.optimize import least_squares
from scipy.signal import lfilter

HIGH_PCT, LOW_PCT, T63_S, BAND_PCT, HELD_S = 90.0, 5.0, 0.70, 8.0, 0.5

def read(path):
    table = pd.read_csv(path)
    def column(*words):
        return next(name for name in table.columns if all(w in name.lower() for w in words))
    clock, duty = column("time"), column("runner", "duty")
    position = column("runner", "position")
    table = table[[clock, duty, position]].apply(pd.to_numeric, errors="coerce").dropna()
    return (table[name].to_numpy() for name in (clock, duty, position))

def on_even_grid(time_s, duty, volts):
    step_s = float(np.median(np.diff(time_s)))
    even_s = np.arange(time_s[0], time_s[-1], step_s)
    held = np.searchsorted(time_s, even_s, side="right") - 1 # a command stands until the next
    return even_s, step_s, duty[held], np.interp(even_s, time_s, volts)

def settled(duty, step_s):
    """Where the command has stood for two seconds."""
    still = np.r_[0, np.abs(np.diff(duty))] < 0.5
    run = pd.Series(still).rolling(max(int(2 / step_s), 1)).sum().to_numpy()
    return run >= max(int(2 / step_s), 1)

def fit_map(duty, volts, at):
    if at.sum() < 20 or np.ptp(duty[at]) < 5:
        at = np.ones(len(duty), bool)
    line = lambda p: p[0] + p[1] * duty[at] - volts[at]
    start = np.polyfit(duty[at], volts[at], 1)[::-1]
    return least_squares(line, start, loss="soft_l1", f_scale=0.05).x

def respond(goal, tau_s, step_s):
    a = np.exp(-step_s / tau_s)
    return lfilter([1 - a], [1, -a], goal, zi=[a * goal[0]])[0]

def fit_response(time_s, step_s, goal, volts):
    def off(p):
        late = np.interp(time_s - p[1], time_s, goal)
        return respond(late, np.exp(p[0]), step_s) - volts
    best = None
    for dead_s in (0.02, 0.15, 0.4): # the valley has several ends
        found = least_squares(off, [np.log(0.3), dead_s], loss="soft_l1", f_scale=0.05,
                              bounds=([np.log(0.01), 0], [np.log(10), 2]))
        best = found if best is None or found.cost < best.cost else best
    return np.exp(best.x[0]) + best.x[1]

def held_pulls(goal, volts, span_v, step_s):
    """The pull in % of travel at the end of each stretch in which the plates stood though pulled."""
    stood = np.abs(np.r_[0, np.diff(volts)]) < 0.01 * span_v
    edges = np.flatnonzero(np.diff(np.r_[0, stood.astype(int), 0]))
    pulls = []
    for begin, end in zip(edges[::2], edges[1::2]):
        if (end - begin) * step_s < HELD_S or end >= len(goal):
            continue
        pull = 100 * abs(goal[end - 1] - volts[end - 1]) / span_v
        jump = 100 * abs(volts[min(end + 2, len(volts) - 1)] - volts[end - 1]) / span_v
        if jump > 2:
            pulls.append(pull)
    return np.array(pulls)

def judge(path):
    time_s, duty, volts = read(path)
    time_s, step_s, duty, volts = on_even_grid(time_s, duty, volts)
    share = 100 * volts / 5.0
    if np.mean(share > HIGH_PCT) > 0.6:
        return "signal_high", np.nan, np.nan
    if np.mean(share < LOW_PCT) > 0.6:
        return "signal_low", np.nan, np.nan
    low, high = np.percentile(volts, [1, 99])
    span_v = max(high - low, 1e-3)
    if span_v < 0.1 and np.ptp(duty) > 20:
        return "still", np.nan, np.nan
    if np.ptp(duty) < 10:
        return "undecided", np.nan, np.nan
    away = np.abs(np.diff(volts)) > 0.3 * span_v
    back = (away[1:] & away[:-1] & (np.diff(volts)[1:] * np.diff(volts)[:-1] < 0)).sum()
    if back >= 3 or (share > 97).sum() + (share < 2).sum() >= 5:
        return "signal_erratic", np.nan, np.nan
    base, slope = fit_map(duty, volts, settled(duty, step_s))
    goal = np.clip(base + slope * duty, low, high)
    t63_s = fit_response(time_s, step_s, goal, volts)
    pulls = held_pulls(goal, volts, span_v, step_s)
    band_pct = 2 * float(np.median(pulls)) if len(pulls) >= 3 else 0.0
    if band_pct >= BAND_PCT:
        return "sticking", t63_s, band_pct
    return ("slow" if t63_s > T63_S else "free"), t63_s, band_pct

for path in sys.argv[1:]:
    begin = time.process_time()
    finding, t63_s, band_pct = judge(path)
    print(f"{path} {finding} {t63_s:.3f} {band_pct:.2f} {time.process_time() - begin:.4f}")
