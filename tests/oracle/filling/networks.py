"""Flow through random networks of ducts, by SciPy's general-purpose minimiser.

Usage: python networks.py > networks.csv

Needs NumPy and SciPy. Every duct has Q = c |dp|^(1/n), c = r^(-1/n); node 0 is the air (0 MPa), node 1 the
nozzle (1 MPa). The pressures minimise the sum of c |dp|^(1/n+1) / (1/n+1), found by SciPy's trust-region
method from its first and second derivatives; a case is kept only if the nodes balance to 1e-10 of all flow.
Resistances go over four decades. Duct: from-to:r, flows in the same order, both to 10 digits.
"""

import sys

import numpy as np
from scipy.optimize import minimize


def solve(edges, n, count):
    power = 1 / n
    start = np.array([a for a, _, _ in edges])
    end = np.array([b for _, b, _ in edges])
    c = np.array([r for _, _, r in edges]) ** -power
    scale = c.max()
    c = c / scale

    def drops(p):
        whole = np.concatenate([[0.0, 1.0], p])
        return whole[start] - whole[end]

    def energy(p):
        return float((c * np.abs(drops(p)) ** (power + 1)).sum() / (power + 1))

    def balance(p):
        flow = c * np.abs(drops(p)) ** power * np.sign(drops(p))
        net = np.zeros(count)
        np.add.at(net, start, flow)
        np.add.at(net, end, -flow)
        return net[2:]

    def hessian(p):
        slope = power * c * np.abs(drops(p)) ** (power - 1)
        whole = np.zeros((count, count))
        for a, b, s in zip(start, end, slope):
            whole[a, a] += s
            whole[b, b] += s
            whole[a, b] -= s
            whole[b, a] -= s
        return whole[2:, 2:]

    p = np.full(count - 2, 0.5)
    for _ in range(40):
        p = minimize(energy, p, jac=balance, hess=hessian, method="trust-exact", options={"gtol": 1e-16, "maxiter": 2000}).x
        # Last digits by plain Newton.
        for _ in range(20):
            p = p - np.linalg.lstsq(hessian(p), balance(p), rcond=None)[0]
        flow = c * np.abs(drops(p)) ** power * np.sign(drops(p))
        through = np.abs(flow[(start == 0) | (end == 0)]).sum()
        if np.isfinite(p).all() and np.abs(balance(p)).max() <= 1e-10 * through:
            return flow * scale
        p = np.random.default_rng(1).uniform(0.2, 0.8, count - 2)
    return None


def main():
    random = np.random.default_rng(20)
    print("# " + "\n# ".join(__doc__.strip().splitlines()))
    print("case,n,nodes,ducts,flows")
    case = 0
    while case < 80:
        n = float(random.choice([1.0, 0.8, 0.6, 0.45, 0.36, 0.3, 0.25]))
        inner = int(random.integers(2, 28))
        resistance = lambda: float(f"{10 ** random.uniform(-2, 2):.6g}")
        edges = [(int(random.integers(2, 2 + i)), 2 + i, resistance()) for i in range(1, inner)]
        for _ in range(int(random.integers(0, 1 + inner // 2))):
            a, b = (int(v) for v in random.choice(np.arange(2, 2 + inner), 2, replace=False))
            edges.append((a, b, resistance()))
        gates, fronts = int(random.integers(1, 4)), int(random.integers(1, 1 + min(8, inner)))
        edges += [(1, int(node), resistance()) for node in random.choice(np.arange(2, 2 + inner), min(gates, inner), replace=False)]
        edges += [(int(node), 0, resistance()) for node in random.choice(np.arange(2, 2 + inner), fronts, replace=False)]
        flow = solve(edges, n, 2 + inner)
        if flow is None:
            print(f"left out a case with n {n} and {inner} nodes", file=sys.stderr)
            continue
        ducts = ";".join(f"{a}-{b}:{r}" for a, b, r in edges)
        print(f"{case},{n},{2 + inner},{ducts}," + ";".join(f"{q:.10g}" for q in flow))
        case += 1


if __name__ == "__main__":
    main()
