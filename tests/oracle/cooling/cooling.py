"""Temperatures of bodies that start at one temperature and are held at another on their whole surface, as shares
of the difference: slab, rectangular bar and cylinder, at the centre and on the mean, over the Fourier number.

Slab and cylinder by mpmath from the Fourier and Bessel series with 30 digits and as many terms as it takes
(Carslaw & Jaeger, Conduction of Heat in Solids, 3.3 and 7.6; citation from memory); the slab's mean is also worked
out from the images of the error function, which converge where the series does not. Bars are products of two slabs.
Writes cooling.csv beside itself. mpmath 1.3 or newer.
"""

from pathlib import Path

import mpmath as mp

mp.mp.dps = 30


def slab(fo, mean):
    """fo = a t / thickness^2."""
    total, n = mp.mpf(0), 0
    while True:
        k = 2 * n + 1
        decay = mp.exp(-((k * mp.pi) ** 2) * fo)
        total += 8 / (mp.pi * k) ** 2 * decay if mean else 4 / (mp.pi * k) * (-1) ** n * decay
        n += 1
        if abs(decay) < mp.mpf(10) ** -28:
            return total


def slab_by_images(fo):
    """The mean from the images of the error function."""
    root = 2 * mp.sqrt(fo)
    ierfc = lambda x: mp.exp(-x * x) / mp.sqrt(mp.pi) - x * mp.erfc(x)
    total = 1 / mp.sqrt(mp.pi)
    for n in range(1, 60):
        total += 2 * (-1) ** n * ierfc(n / root)
    return 1 - 2 * root * total


def cylinder(fo):
    """Centre; fo = a t / diameter^2."""
    total, n = mp.mpf(0), 1
    while True:
        root = mp.besseljzero(0, n)
        term = 2 / (root * mp.besselj(1, root)) * mp.exp(-4 * root**2 * fo)
        total += term
        n += 1
        if abs(term) < mp.mpf(10) ** -25:
            return total


rows = []
for fo in ["0.002", "0.005", "0.01", "0.02", "0.05", "0.1", "0.2", "0.3", "0.5", "1"]:
    f = mp.mpf(fo)
    assert abs(slab(f, True) - slab_by_images(f)) < mp.mpf(10) ** -20
    centre, mean = (slab(f, m) * slab(f / 4, m) for m in (False, True))
    values = [slab(f, False), slab(f, True), centre, mean, cylinder(f)]
    rows.append(",".join([fo] + [mp.nstr(v, 15, strip_zeros=False) for v in values]))
heading = "fourier,slab_centre,slab_mean,bar_2_to_1_centre,bar_2_to_1_mean,cylinder_centre"
text = (
    "# Share of the first temperature difference that is left at a Fourier number (diffusivity times time over the\n"
    "# square of the thickness, of the shorter side of a bar of 2 to 1, or of the diameter). Made by cooling.py with\n"
    "# mpmath 1.3.\n"
)
Path(__file__).with_name("cooling.csv").write_text(text + heading + "\n" + "\n".join(rows) + "\n")
