"""Pressure of air that is driven out of a channel through thin slots, worked out with SciPy.

Flow in a slot: dp/dx = -12 mu u / h^2 with the perfect gas at one temperature, integrated with solve_ivp from the
pressure of the room inwards, for the flow that brentq finds; no closed form is used. Choked flow: the largest mass flux
over the pressure at the throat, found with minimize_scalar. The pressure is the one at which the smaller of both equals
what the melt drives before it. Writes venting.csv beside itself. SciPy 1.10 or newer.
"""

from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, minimize_scalar

R, K, ROOM = 287.05, 1.4, 101325.0


def viscosity(t):
    return 1.716e-5 * (t / 273.0) ** 1.5 * (273.0 + 111.0) / (t + 111.0)


def slot(width, depth, length, inside, t):
    mu = viscosity(t)

    def inside_at(flow):
        # From the room inwards, where the pressure rises and nothing is singular.
        def slope(x, p):
            speed = flow * R * t / (p * width * depth)
            return 12 * mu * speed / depth**2

        return solve_ivp(slope, (0, length), [ROOM], method="DOP853", rtol=1e-11, atol=1e-6).y[0, -1]

    if inside <= ROOM:
        return 0.0
    high = 1e-12
    while inside_at(high) < inside:
        high *= 2
    return brentq(lambda flow: inside_at(flow) - inside, 0.0, high, xtol=1e-22, rtol=1e-12)


def flux(inside, outside, t):
    """Mass flux with the throat at the pressure `outside`."""
    speed = np.sqrt(2 * K / (K - 1) * R * t * (1 - (outside / inside) ** ((K - 1) / K)))
    density = inside / (R * t) * (outside / inside) ** (1 / K)
    return density * speed


def hole(area, inside, t):
    if inside <= ROOM:
        return 0.0
    best = minimize_scalar(lambda p: -flux(inside, p, t), bounds=(0.2 * inside, inside), method="bounded", options={"xatol": 1e-3})
    throat = max(best.x, ROOM)
    return area * flux(inside, throat, t)


rows = []
for width, depth, length, rate, celsius in [
    (3, 0.02, 25, 1000, 40),
    (3, 0.02, 2, 1000, 40),
    (6, 0.03, 2, 4000, 40),
    (1, 0.02, 0.2, 2500, 60),
    (4, 0.05, 1, 20000, 90),
    (1, 0.02, 0.05, 3500, 60),
    (2.5, 0.0127, 15, 500, 20),
]:
    t = celsius + 273.15
    w, h, l = width * 1e-3, depth * 1e-3, length * 1e-3

    def lacks(log_p):
        p = np.exp(log_p)
        return min(slot(w, h, l, p, t), hole(w * h, p, t)) - p * rate * 1e-9 / (R * t)

    log_p = brentq(lacks, np.log(ROOM * 1.0001), np.log(3e7), xtol=1e-9)
    p = np.exp(log_p)
    rows.append((width, depth, length, rate, celsius, p, slot(w, h, l, p, t), hole(w * h, p, t)))
text = "# Pressure in the channel, and mass flow by friction and by area at it. Made by venting.py with SciPy.\n"
text += "width_mm,depth_mm,length_mm,rate_mm3_s,air_c,pressure_pa,friction_kg_s,area_kg_s\n"
text += "".join(",".join(f"{v:.8g}" for v in row) + "\n" for row in rows)
Path(__file__).with_name("venting.csv").write_text(text)
