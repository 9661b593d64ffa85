"""The strong reference case (tests/published/heat-two-layer.csv, A1) by a general solver, beside ours.

scipy is no dependency of the project; run this in a throw-away environment:

    python -m venv /tmp/peer && /tmp/peer/bin/pip install numpy scipy
    /tmp/peer/bin/python benches/method_of_lines.py

The peer: control volumes on a grid graded towards the interface, unknown temperature, heat capacity
with the melting peak, solve_ivp with a banded Jacobian (LSODA) or a sparse one (BDF), split where
the light goes off.
"""

import subprocess
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.sparse import diags

PEAK_C = 523.63686
RHO, K, LATENT, WIDTH, FROM_C = 1130.0, 0.25, 60e3, 25.0, 200.0
UPPER, LOWER, MU_UPPER, MU_LOWER = 1.5e-3, 3e-3, 100.0, 1e4
IRRADIANCE, DWELL, END, ROOM_C, FILM = 20e6, 0.020, 0.5, 23.0, 10.0


def capacity(t):
    u = np.clip((t - FROM_C) / WIDTH, 0.0, 1.0)
    return 1700 + 400 * (1 + np.tanh((t - 220) / 5)) + LATENT / WIDTH * (1 - np.cos(2 * np.pi * u))


def transmitted(x):
    above = IRRADIANCE * np.exp(-MU_UPPER * np.minimum(x, UPPER))
    return above * np.exp(-MU_LOWER * np.maximum(x - UPPER, 0.0))


def solve(method, cells, rtol):
    grade = lambda n, depth, s: depth * np.sinh(s * np.arange(n + 1) / n) / np.sinh(s)
    half = cells // 2
    x = np.concatenate([UPPER - grade(half, UPPER, 5.0)[::-1], UPPER + grade(half, LOWER, 5.7)[1:]])
    edges = np.concatenate([[x[0]], 0.5 * (x[1:] + x[:-1]), [x[-1]]])
    volume, source = np.diff(edges), -np.diff(transmitted(edges))
    link = K / np.diff(x)

    def rate(light):
        def f(_, t):
            flux = np.concatenate([[FILM * (ROOM_C - t[0])], -link * np.diff(t), [FILM * (t[-1] - ROOM_C)]])
            return (light * source - np.diff(flux)) / (RHO * capacity(t) * volume)
        return f

    options = dict(method=method, rtol=rtol, atol=100 * rtol)
    if method == "LSODA":
        options |= dict(lband=1, uband=1)
    else:
        options |= dict(jac_sparsity=diags([1.0, 1.0, 1.0], [-1, 0, 1], shape=(len(x), len(x))))
    t = np.full(len(x), ROOM_C)
    peak = -np.inf
    for light, span in [(1.0, (0.0, DWELL)), (0.0, (DWELL, END))]:
        run = solve_ivp(rate(light), span, t, **options)
        t, peak = run.y[:, -1], max(peak, run.y[half].max())
    return peak


def main():
    ours = subprocess.run(["cargo", "bench", "--quiet", "--bench", "heat_cost", "--", "peer"],
                          capture_output=True, text=True, check=True).stdout
    peak, single, batch = map(float, ours.split("peer ")[1].split()[:3])
    print(f"ours, one at a time       {1e6 * single:10.1f} µs  {peak - PEAK_C:+.2f} K")
    print(f"ours, in a batch          {1e6 * batch:10.1f} µs  {peak - PEAK_C:+.2f} K  (all cores)")
    for method, cells, rtol in [("LSODA", 40, 1e-3), ("LSODA", 80, 1e-4), ("BDF", 40, 1e-3), ("BDF", 80, 1e-4)]:
        solve(method, cells, rtol)
        start = time.perf_counter()
        count = 3
        for _ in range(count):
            found = solve(method, cells, rtol)
        seconds = (time.perf_counter() - start) / count
        print(f"{method:5} {cells:3} cells, {rtol:.0e}  {1e6 * seconds:10.1f} µs  {found - PEAK_C:+.2f} K  "
              f"{seconds / single:.0f} times one of ours, {seconds / batch:.0f} times one in a batch")


if __name__ == "__main__":
    main()
