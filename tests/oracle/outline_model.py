"""The parametric brow outline in numpy: written from the formulas, apart from the Rust code.

Parameters in the order front_x, bulb_y, bulb_t, slant, soft, arch_x, arch_y, arch_t, round, tail_x, tail_y, tip_t,
up_tens, low_dip, tail_tens, under, full; mm and degrees. From this project's model study on the Face Research Lab
London Set (DeBruine & Jones 2017, CC BY 4.0).
"""

import numpy as np

PIECES = (20, 20, 6, 20, 20, 8, 4, 6)
SCALE = np.array([1, 1, 1, 10, .4, 1, 1, 1, .3, 1, 1, .5, .3, .3, .3, 10, .3])
MEDIAN = np.array([13.5, 15.6, 5.8, 2.4, .72, 38.3, 27.0, 7.3, .5, 55.3, 15.3, 3.29, .4, .77, .6, 5.5, 0])
RANGES = np.array([
    (1, 30), (0, 35), (1, 16), (-40, 40), (0, 1), (15, 60), (5, 45), (1.5, 16), (.05, 1), (30, 85), (-5, 40), (.3, 8),
    (-1, 1), (-2.5, 4), (-1, 1), (-40, 45), (-1, 1)])


def unit(v):
    return v / np.hypot(*v)


def split_from(c, t):
    """The part of a cubic from t to 1 (de Casteljau)."""
    a, b, d = c[0] + t * (c[1] - c[0]), c[1] + t * (c[2] - c[1]), c[2] + t * (c[3] - c[2])
    e, f = a + t * (b - a), b + t * (d - b)
    return np.array([e + t * (f - e), f, d, c[3]])


def cubics(p, rounds=200):
    """The eight pieces as cubics, counter-clockwise in (out, up)."""
    F, B, T, slant, c, A, Ay, a, rho, X, Y, tau, up, d, tail, under, full = p
    Q, P, s, m, k = Ay - a, B + T, T * np.tan(np.radians(slant)), np.tan(np.radians(under)), 2 * tau / 3
    l1 = 2 / 3 * (A - F) - 2 / 3 * max(s, 0)
    xl = np.array([F, F + (A - F) / 3, A - rho * l1, A])
    xu = xl + s * np.array([1, 2 / 3, 0, 0])
    upper1 = np.array([xu, [P, P + (Ay - P) * (1 + 2 * up) / 3, Ay, Ay]]).T
    lower1 = np.array([xl, [B, B + (Q - B) / 3 - 2.25 * d, Q - m * rho * l1, Q]]).T
    du = dl = unit(np.array([X - A, Y - (Ay - a / 2)]))
    for _ in range(rounds):
        dm = (du + dl) / 2
        tv = tau * np.hypot(*dm) / dm[0]
        xb, ybm = X - .75 * k * dm[0], Y - .75 * k * dm[1]
        yt, yb = ybm + tv / 2, ybm - tv / 2
        l2 = 2 / 3 * (xb - A)
        u2 = yt + (Ay - yt) * (1 + 2 * tail) / 3
        th2 = tv + (a - tv) * ((2 + full) / 3 if a > tv else 1 / 3)
        x2 = [A, A + rho * l2, A + 2 / 3 * (xb - A), xb]
        upper2 = np.array([x2, [Ay, Ay, u2, yt]]).T
        lower2 = np.array([x2, [Q, Q + m * rho * l2, u2 - th2, yb]]).T
        du, dl = unit(upper2[3] - upper2[2]), unit(lower2[3] - lower2[2])
    top, bottom = upper2[3], lower2[3]
    cap = np.array([bottom, bottom + k * dl, top + k * du, top])
    p0, p1 = lower1[0], upper1[0]
    c = 0 if c < .02 else c
    et, eb = p1 + .62 * c * (p0 - p1), p0 + .36 * c * (p1 - p0)
    upper1, lower1 = split_from(upper1, .32 * c), split_from(lower1, .16 * c)

    def corner(e, q, curve):
        end = curve[0]
        return np.array([e, e + .6 * (q - e), end - .6 * np.hypot(*(end - q)) * unit(curve[1] - end), end])

    edge = np.array([et + t * (eb - et) for t in (0, 1 / 3, 2 / 3, 1)])
    return [lower1, lower2, cap, upper2[::-1], upper1[::-1], corner(et, p1, upper1)[::-1], edge, corner(eb, p0, lower1)]


def at(cubic, t):
    t = np.asarray(t)[:, None]
    return (1 - t) ** 3 * cubic[0] + 3 * t * (1 - t) ** 2 * cubic[1] + 3 * t * t * (1 - t) * cubic[2] + t ** 3 * cubic[3]


def points(p):
    """The 104 points at fixed curve parameters."""
    return np.concatenate([at(c, np.arange(n) / n) for c, n in zip(cubics(p), PIECES)])


def dense(p, n=200):
    return np.concatenate([at(c, np.arange(n) / n) for c in cubics(p)])


def area(p):
    """Area inside the cubics by Gauss-Legendre quadrature, exact for cubics."""
    nodes, weights = np.polynomial.legendre.leggauss(4)
    total = 0
    for c in cubics(p):
        t = (nodes + 1) / 2
        q, e = at(c, t), 1e-6
        slope = (at(c, t + e) - at(c, t - e)) / (2 * e)
        total += np.sum(weights / 2 * (q[:, 0] * slope[:, 1] - q[:, 1] * slope[:, 0])) / 2
    return total
