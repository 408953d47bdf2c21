"""Pressure drop of a power-law melt in rectangular ducts, by finite elements.

Usage: python ducts.py table > ../../../crates/engine/src/filling/duct/table.rs
       python ducts.py between > duct_between.csv
       python ducts.py sections > duct_sections.csv

Needs NumPy and SciPy. Fully developed flow along a duct: the velocity u minimises

    J(u) = integral of |grad u|^(n+1) / (n+1) - G u     (consistency 1, pressure gradient G)

over the section, u = 0 at the wall. A quarter of the section is cut into bilinear elements on a mesh that is
finer towards walls; two meshes and Richardson's extrapolation (order 2) take away the error of the mesh.
Checked against rect_duct_powerlaw_fRe.csv and rect_duct_newtonian.csv by the engine's tests.
"""

import sys

import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

# Pressure gradient: large enough that the stress at the wall is about 1, whatever the index.
GRADIENT = 4.0

GAUSS = [(-(3 ** -0.5), 1.0), (3 ** -0.5, 1.0)]


class Mesh:
    """A mapped quarter section: corner points of quadrilaterals, wall nodes fixed."""

    def __init__(self, x, y, wall):
        rows, cols = x.shape
        number = np.arange(rows * cols).reshape(rows, cols)
        quads = np.stack([number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]], axis=-1)
        self.quads = quads.reshape(-1, 4)
        px, py = x.ravel(), y.ravel()
        self.free = np.flatnonzero(~wall.ravel())
        self.count = px.size
        grads, weights = [], []
        self.load = np.zeros(self.count)
        self.area = 0.0
        for s, ws in GAUSS:
            for t, wt in GAUSS:
                shape = np.array([(1 - s) * (1 - t), (1 + s) * (1 - t), (1 + s) * (1 + t), (1 - s) * (1 + t)]) / 4
                ds = np.array([-(1 - t), 1 - t, 1 + t, -(1 + t)]) / 4
                dt = np.array([-(1 - s), -(1 + s), 1 + s, 1 - s]) / 4
                qx, qy = px[self.quads], py[self.quads]
                xs, xt, ys, yt = qx @ ds, qx @ dt, qy @ ds, qy @ dt
                jac = xs * yt - xt * ys
                gx = (np.outer(yt, ds) - np.outer(ys, dt)) / jac[:, None]
                gy = (np.outer(xs, dt) - np.outer(xt, ds)) / jac[:, None]
                grads.append((gx, gy))
                weights.append(jac * ws * wt)
                np.add.at(self.load, self.quads, GRADIENT * (jac * ws * wt)[:, None] * shape[None, :])
                self.area += (jac * ws * wt).sum()
        self.grads, self.weights = grads, weights
        self.rows = np.repeat(self.quads, 4, axis=1).ravel()
        self.cols = np.tile(self.quads, (1, 4)).ravel()

    def flow(self, n, u):
        """Flow through the quarter; u is where to start, and is replaced by the solution."""
        small = 1e-14
        for _ in range(200):
            matrix = np.zeros((len(self.quads), 4, 4))
            force = self.load.copy()
            for (gx, gy), w in zip(self.grads, self.weights):
                uq = u[self.quads]
                ux, uy = (gx * uq).sum(1), (gy * uq).sum(1)
                square = ux**2 + uy**2 + small
                eta = w * square ** ((n - 1) / 2)
                np.add.at(force, self.quads, -(eta * ux)[:, None] * gx - (eta * uy)[:, None] * gy)
                along = (gx * ux[:, None] + gy * uy[:, None]) / np.sqrt(square)[:, None]
                matrix += eta[:, None, None] * (
                    gx[:, :, None] * gx[:, None, :]
                    + gy[:, :, None] * gy[:, None, :]
                    + (n - 1) * along[:, :, None] * along[:, None, :]
                )
            whole = csc_matrix((matrix.ravel(), (self.rows, self.cols)), shape=(self.count, self.count))
            step = np.zeros(self.count)
            step[self.free] = splu(whole[self.free][:, self.free]).solve(force[self.free])
            # The energy is convex: go along the step as far as it falls.
            share, before = 1.0, self.energy(n, u, small)
            while share > 1e-4 and self.energy(n, u + share * step, small) > before + 1e-15 * abs(before):
                share /= 2
            u = u + share * step
            if np.abs(step).max() < 1e-11 * np.abs(u).max():
                break
        return float(self.load @ u) / GRADIENT, u

    def energy(self, n, u, small):
        total = -float(self.load @ u)
        for (gx, gy), w in zip(self.grads, self.weights):
            uq = u[self.quads]
            square = (gx * uq).sum(1) ** 2 + (gy * uq).sum(1) ** 2 + small
            total += float((w * square ** ((n + 1) / 2)).sum()) / (n + 1)
        return total


def towards_one(count):
    """Stations from 0 to 1 that are finest at 1."""
    return np.sin(0.5 * np.pi * np.linspace(0, 1, count + 1))


def rectangle(width, height, cells):
    """Quarter of a rectangle; beyond two heights from the short walls the cells are long."""
    y = 0.5 * height * towards_one(cells)
    near = min(0.5 * width, 1.5 * height)
    x = 0.5 * width - near + near * towards_one(cells)
    if 0.5 * width > near:
        x = np.concatenate([np.linspace(0, 0.5 * width - near, cells // 4, endpoint=False), x])
    xx, yy = np.meshgrid(x, y)
    wall = np.zeros(xx.shape, bool)
    wall[-1, :] = wall[:, -1] = True
    return Mesh(xx, yy, wall)


def section(half_width, height, cells):
    """Quarter of a section that is its own mirror image about the parting plane and about its middle.

    half_width gives half the width over the height above the parting plane.
    """
    y = 0.5 * height * towards_one(cells)
    half = np.array([half_width(at) for at in y])
    xx = np.outer(half, towards_one(cells))
    yy = np.repeat(y[:, None], cells + 1, axis=1)
    wall = np.zeros(xx.shape, bool)
    wall[-1, :] = wall[:, -1] = True
    return Mesh(xx, yy, wall)


def flows(mesh_of, indices, cells):
    """Flow through the whole section at a gradient of 1 for each power-law index, extrapolated from two meshes."""
    found = []
    for count in (cells, 2 * cells):
        mesh = mesh_of(count)
        u, of_mesh = np.zeros(mesh.count), []
        for n in indices:
            flow, u = mesh.flow(n, u)
            # As if the gradient had been 1.
            of_mesh.append(4 * flow * GRADIENT ** (-1 / n))
        found.append(np.array(of_mesh))
    return found[1] + (found[1] - found[0]) / 3


def slit_gradient(n, flow, width, height):
    """Pressure gradient of a slit with consistency 1."""
    return 2 / height * ((2 * n + 1) / n * 2 * flow / (width * height**2)) ** n


INDICES = [1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.45, 0.4, 0.35, 0.3, 0.25, 0.2, 0.15, 0.1, 0.05]
RATIOS = [0.05 * i for i in range(1, 21)]


def table():
    rows = {}
    for ratio in RATIOS:
        q = flows(lambda cells: rectangle(1 / ratio, 1.0, cells), INDICES, 40)
        rows[ratio] = [-float(np.log(slit_gradient(n, flow, 1 / ratio, 1.0))) for n, flow in zip(INDICES, q)]
        print(f"ratio {ratio:.2f}", file=sys.stderr)
    order = sorted(range(len(INDICES)), key=lambda i: INDICES[i])
    print("//! How much more a rectangular duct resists a power-law melt than a slit as wide and as high.")
    print("//!")
    print("//! Made by `tests/oracle/filling/ducts.py table` with finite elements; not to be edited by hand.")
    print()
    print("/// The power-law indices of the columns.")
    print(f"pub(super) const INDICES: [f64; {len(INDICES)}] =")
    print("    [" + ", ".join(f"{INDICES[i]}" for i in order) + "];")
    print()
    print("/// Natural logarithm of the pressure gradient over that of the slit with the same flow. Rows: height")
    print("/// over width from 0 in steps of 0.05 to 1.")
    print(f"pub(super) const LN_EXCESS: [[f64; {len(INDICES)}]; {len(RATIOS) + 1}] = [")
    for values in [[0.0] * len(INDICES)] + [rows[r] for r in RATIOS]:
        print("    [" + ", ".join(f"{values[i] + 0.0:.6f}" for i in order) + "],")
    print("];")


def between():
    """Ducts between the rows and columns of the table."""
    print("# Pressure gradient, MPa/mm, of a power-law melt of consistency 1 MPa s^n in a rectangular duct at 1 mm3/s,")
    print("# by ducts.py between (own finite elements); 7 significant digits.")
    print("width_mm,height_mm,n,gradient_mpa_mm")
    indices = [0.93, 0.66, 0.47, 0.36, 0.32, 0.27, 0.22]
    for width, height in [(6.0, 0.2), (6.0, 0.5), (6.0, 1.0), (6.0, 2.2), (6.0, 3.4), (6.0, 4.6), (6.0, 5.9)]:
        for n, flow in zip(indices, flows(lambda cells: rectangle(width, height, cells), indices, 28)):
            # Flow goes with the power 1/n of the gradient.
            print(f"{width},{height},{n},{flow**-n:.7g}")


def sections():
    """Sections with drafted walls or rounded edges."""
    print("# Pressure gradient, MPa/mm, of a power-law melt of consistency 1 MPa s^n at 1 mm3/s in a section that is")
    print("# widest at the parting plane half way up, with this draft and this radius of all edges,")
    print("# by ducts.py sections (own finite elements); 6 significant digits. The last section is a circle.")
    print("width_mm,depth_mm,draft_deg,edge_mm,n,gradient_mpa_mm")
    indices = [1.0, 0.5, 0.35]
    cases = [(6, 3, 0, 0), (6, 3, 1, 0), (6, 3, 5, 0), (6, 3, 15, 0), (6, 3, 0, 0.5), (6, 3, 0, 1), (6, 3, 0, 1.5),
             (4, 4, 5, 0), (4, 4, 0, 1), (4, 4, 0, 2)]
    for width, depth, draft, edge in cases:
        def half_width(y, width=width, depth=depth, draft=draft, edge=edge):
            wall = 0.5 * width - y * np.tan(np.radians(draft))
            over = y - (0.5 * depth - edge)
            return wall - edge + np.sqrt(max(edge**2 - over**2, 0)) if over > 0 else wall
        for n, flow in zip(indices, flows(lambda cells: section(half_width, depth, cells), indices, 40)):
            print(f"{width},{depth},{draft},{edge},{n},{flow**-n:.6g}")


if __name__ == "__main__":
    {"table": table, "between": between, "sections": sections}[sys.argv[1]]()
