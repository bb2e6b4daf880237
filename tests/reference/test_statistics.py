"""The statistics against an independent implementation, on numbers drawn at random.

Distributions are scipy's and numpy does the sums; each formula is written down here once more from its source, by
another way where there is one: Wilson's interval as the roots of the score equation, the funnel by summing the
binomial, variance components by solving the expected mean squares, weighted kappa by matrices, sample sizes by
trying every number. The draw follows the published text of its algorithms.
"""
import json
import math
import os
import pathlib
import subprocess
import tempfile
import unittest

import numpy as np
from scipy import optimize, stats

DUMP = pathlib.Path(os.environ["CANALRULE_BUILD"]) / "tests" / "dump_statistics"
LEVELS = (0.8, 0.95, 0.99)
WORD = (1 << 64) - 1


def answers(requests):
    with tempfile.TemporaryDirectory() as folder:
        request = pathlib.Path(folder) / "request.json"
        request.write_text(json.dumps(requests), encoding="utf-8")
        done = subprocess.run([DUMP, request], capture_output=True, check=True, timeout=120)
    return json.loads(done.stdout)


def z_of(level):
    return stats.norm.ppf(0.5 + level / 2)


def t_interval(level, degrees, centre, error):
    """By Student's t as the root of Fisher's F, whose quantile scipy has to more digits."""
    half = math.sqrt(stats.f.ppf(level, 1, degrees)) * error
    return [centre - half, centre + half]


def score_interval(p, n, z):
    """The shares whose score statistic about p of n is z: where n (p - t)^2 = z^2 t (1 - t)."""
    roots = np.roots([n + z * z, -(2 * n * p + z * z), n * p * p])
    return sorted(float(np.real(root)) for root in roots)


class Checked(unittest.TestCase):
    def setUp(self):
        self.random = np.random.default_rng(20261125)

    def near(self, found, expected, places=9):
        np.testing.assert_allclose(found, expected, rtol=10.0 ** -places, atol=10.0 ** -places)


class Shares(Checked):
    def test_wilson(self):
        asked = [{"ask": "wilson", "counted": int(self.random.integers(0, n + 1)), "all": int(n), "level": level}
                 for n in self.random.integers(1, 500, 60) for level in LEVELS]
        for one, found in zip(asked, answers(asked)):
            n = one["all"]
            self.near(found["interval"], score_interval(one["counted"] / n, n, z_of(one["level"])), 7)

    def test_paired_difference(self):
        asked = [dict(zip(("both", "first", "second", "neither"), map(int, self.random.integers(0, 30, 4))),
                      ask="paired", level=level) for _ in range(60) for level in LEVELS]
        for one, found in zip(asked, answers(asked)):
            e, f, g, h = (one[key] for key in ("both", "first", "second", "neither"))
            n, z = e + f + g + h, z_of(one["level"])
            p, q = (e + f) / n, (e + g) / n
            (l, u), (m, v) = score_interval(p, n, z), score_interval(q, n, z)
            over = e * h - f * g
            corrected = over if over < 0 else max(over - n / 2, 0)
            under = (e + f) * (g + h) * (e + g) * (f + h)
            phi = corrected / math.sqrt(under) if under else 0
            down, up = np.array([p - l, v - q]), np.array([u - p, q - m])
            joined = np.array([[1, -phi], [-phi, 1]])
            self.near(found["value"], p - q)
            self.near(found["interval"], [max(-1, p - q - math.sqrt(down @ joined @ down)),
                                          min(1, p - q + math.sqrt(up @ joined @ up))], 6)

    def test_design_effect(self):
        asked = []
        for level in LEVELS:
            for _ in range(20):
                sizes = self.random.integers(1, 6, int(self.random.integers(5, 80)))
                shares = self.random.beta(2, 1.5, len(sizes))
                counted = self.random.binomial(sizes, shares)
                asked.append({"ask": "clusters", "clusters": [[int(x), int(n)] for x, n in zip(counted, sizes)],
                              "level": level})
        estimated = 0
        for one, found in zip(asked, answers(asked)):
            x, n = np.array(one["clusters"], dtype=float).T
            p = x.sum() / n.sum()
            # The ratio estimator's variance as that of the linearised values (Cochran 1977, 6.3).
            linear = (x - p * n) / n.mean()
            variance = np.var(linear, ddof=1) / len(n)
            effect = max(1.0, variance / (p * (1 - p) / n.sum()))
            estimated += effect > 1.0
            self.near(found["value"], effect)
            self.near(found["share"]["interval"], score_interval(p, n.sum() / effect, z_of(one["level"])), 7)
        self.assertGreater(estimated, 30)

    def test_funnel(self):
        asked = [{"ask": "funnel", "overall": float(self.random.uniform(0.02, 0.98)), "all": int(n), "level": level}
                 for n in self.random.integers(1, 400, 40) for level in (0.95, 0.998)]
        for one, found in zip(asked, answers(asked)):
            n, p = one["all"], one["overall"]
            mass = stats.binom.pmf(np.arange(n + 1), n, p)
            for end, tail in zip(found, ((1 - one["level"]) / 2, (1 + one["level"]) / 2)):
                reached = np.cumsum(mass)
                r = int(np.argmax(reached > tail))
                limit = (r - (reached[r] - tail) / mass[r]) / n
                self.near(end, min(1.0, max(0.0, limit)), 7)


class Agreement(Checked):
    def test_limits_and_dahlberg(self):
        asked = [{"ask": "agreement", "level": level,
                  "pairs": self.random.normal(20.0, 1.0, (int(self.random.integers(2, 60)), 2)).tolist()}
                 for _ in range(20) for level in LEVELS]
        for one, found in zip(asked, answers(asked)):
            first, second = np.array(one["pairs"]).T
            d, n, level = first - second, len(first), one["level"]
            s, z = np.std(d, ddof=1), z_of(level)
            self.near(found["bias"]["value"], d.mean())
            self.near(found["standard_deviation"], s)
            self.near(found["bias"]["interval"], t_interval(level, n - 1, d.mean(), stats.sem(d)))
            error = s * math.sqrt(1 / n + z * z / (2 * (n - 1)))
            for end, limit in (("lower", d.mean() - z * s), ("upper", d.mean() + z * s)):
                self.near(found[end]["value"], limit)
                self.near(found[end]["interval"], t_interval(level, n - 1, limit, error))
            tails = stats.chi2.ppf([0.5 + level / 2, 0.5 - level / 2], n)
            self.near(found["dahlberg"]["value"], math.sqrt(np.mean(d * d) / 2))
            self.near(found["dahlberg"]["interval"], np.sqrt(np.sum(d * d) / 2 / tails))

    def test_intraclass_correlations(self):
        asked = []
        for level in LEVELS:
            for _ in range(20):
                n, k = int(self.random.integers(3, 30)), int(self.random.integers(2, 6))
                ratings = (self.random.normal(0, 1, (n, 1)) + self.random.normal(0, 0.4, (1, k))
                           + self.random.normal(0, 0.5, (n, k)))
                asked.append({"ask": "icc", "ratings": ratings.tolist(), "level": level})
        for one, found in zip(asked, answers(asked)):
            x = np.array(one["ratings"])
            (n, k), tail = x.shape, 0.5 + one["level"] / 2
            b = k * np.var(x.mean(axis=1), ddof=1)
            j = n * np.var(x.mean(axis=0), ddof=1)
            within = x - x.mean(axis=1, keepdims=True) - x.mean(axis=0, keepdims=True) + x.mean()
            e = np.sum(within ** 2) / ((n - 1) * (k - 1))
            self.near(found["mean_squares"], [b, j, e])
            rho = (b - e) / (b + (k - 1) * e + k * (j - e) / n)
            self.near(found["agreement"]["value"], rho)
            self.near(found["consistency"]["value"], (b - e) / (b + (k - 1) * e))
            # Shrout and Fleiss 1979, with their own letters for the degrees of freedom.
            ratio = j / e
            over = (k - 1) * (n - 1) * (k * rho * ratio + n * (1 + (k - 1) * rho) - k * rho) ** 2
            under = (n - 1) * k ** 2 * rho ** 2 * ratio ** 2 + (n * (1 + (k - 1) * rho) - k * rho) ** 2
            v = over / under
            low, high = stats.f.ppf(tail, n - 1, v), stats.f.ppf(tail, v, n - 1)
            others = k * j + (k * n - k - n) * e
            self.near(found["agreement"]["interval"], [n * (b - low * e) / (low * others + n * b),
                                                       n * (high * b - e) / (others + n * high * b)], 7)
            # The correlation for which the observed ratio is just so likely.
            ends = [optimize.brentq(lambda r: stats.f.cdf(b / e * (1 - r) / (1 + (k - 1) * r), n - 1,
                                                          (n - 1) * (k - 1)) - chance, -1 / (k - 1) + 1e-9, 1 - 1e-9,
                                    xtol=1e-13) for chance in (tail, 1 - tail)]
            self.near(found["consistency"]["interval"], ends, 6)

    def test_kappa(self):
        asked = []
        for weights in ("none", "linear", "quadratic"):
            for level in LEVELS:
                for _ in range(10):
                    k = int(self.random.integers(2, 6))
                    table = self.random.integers(0, 15, (k, k)) + np.diag(self.random.integers(1, 30, k))
                    asked.append({"ask": "kappa", "table": table.tolist(), "weights": weights, "level": level})
        for one, found in zip(asked, answers(asked)):
            counts = np.array(one["table"], dtype=float)
            n, k = counts.sum(), len(counts)
            apart = np.abs(np.subtract.outer(np.arange(k), np.arange(k))) / (k - 1)
            w = {"none": (apart == 0).astype(float), "linear": 1 - apart, "quadratic": 1 - apart ** 2}[one["weights"]]
            p = counts / n
            rows, columns = p.sum(axis=1), p.sum(axis=0)
            chance = rows @ w @ columns
            kappa = (np.sum(w * p) - chance) / (1 - chance)
            # The delta method: the gradient of kappa by each cell, over the multinomial's covariance.
            gradient = (w * (1 - chance) - (1 - np.sum(w * p)) * np.add.outer(w @ columns, rows @ w)) / (1 - chance) ** 2
            error = math.sqrt((np.sum(p * gradient ** 2) - np.sum(p * gradient) ** 2) / n)
            self.near(found["kappa"]["value"], kappa)
            self.near(found["standard_error"], error, 8)
            half = z_of(one["level"]) * error
            self.near(found["kappa"]["interval"], [max(-1, kappa - half), min(1, kappa + half)], 8)

    def test_variance_split(self):
        asked = []
        for _ in range(30):
            seen = []
            for subject in range(int(self.random.integers(4, 15))):
                level = self.random.normal(5, 3)
                for rater in range(int(self.random.integers(1, 5))):
                    hand = self.random.normal(0, 1)
                    seen += [[subject, rater, level + hand + self.random.normal(0, 0.3),
                              float(self.random.uniform(0.1, 0.3))] for _ in range(int(self.random.integers(1, 4)))]
            asked.append({"ask": "split", "observations": seen})
        for one, found in zip(asked, answers(asked)):
            rows = one["observations"]
            kept = [row for row in rows if sum(other[0] == row[0] for other in rows) > 1]
            subjects = np.array([row[0] for row in kept])
            cells = np.array([row[0] * 100 + row[1] for row in kept])
            values = np.array([row[2] for row in kept])
            # Each sum of squares is y' Q y for a projection Q; its mean is the sum of variances times trace(Z' Q Z).
            def design(of):
                return (np.subtract.outer(of, np.unique(of)) == 0).astype(float)
            def projection(matrix):
                return matrix @ np.linalg.pinv(matrix)
            one_mean, by_subject, by_cell = np.ones((len(kept), 1)), design(subjects), design(cells)
            spaces = [np.eye(len(kept)) - projection(by_cell), projection(by_cell) - projection(by_subject),
                      projection(by_subject) - projection(one_mean)]
            effects = [np.eye(len(kept)), by_cell, by_subject]
            expected = np.array([[np.trace(z.T @ q @ z) for z in effects] for q in spaces])
            within, raters, between = np.linalg.solve(expected, [values @ q @ values for q in spaces])
            # A part below 0 is taken as 0 before the next is had from it.
            if raters < 0:
                between = (values @ spaces[2] @ values - expected[2, 0] * within) / expected[2, 2]
            self.near([found["within"], found["raters"], found["subjects"]],
                      [within, max(0, raters), max(0, between)], 7)
            self.near(found["stated"], np.mean([row[3] ** 2 for row in kept]))


class Planning(Checked):
    def test_sample_sizes(self):
        asked = []
        for level in LEVELS:
            for _ in range(20):
                asked.append({"ask": "plan", "share": float(self.random.uniform(0.02, 0.98)), "level": level,
                              "half_width": float(self.random.uniform(0.03, 0.2)), "design_effect": 1.0})
                asked.append(dict(asked[-1], population=int(self.random.integers(20, 3000)),
                                  design_effect=float(self.random.uniform(1, 3))))
        for one, found in zip(asked, answers(asked)):
            z, p, half = z_of(one["level"]), one["share"], one["half_width"]

            def needed(variance_per_one):
                """The least n for which the variance falls to (half / z)^2, sampled from a finite population."""
                share = 1.0 / one.get("population", math.inf)
                return variance_per_one / (1 + (variance_per_one - 1) * share)

            self.assertEqual(found["normal"], math.ceil(needed(one["design_effect"] * z * z * p * (1 - p) / half ** 2)))
            unlimited = optimize.brentq(lambda n: np.diff(score_interval(p, n, z))[0] / 2 - half, 0.01, 1e6, xtol=1e-9)
            self.assertEqual(found["wilson"], math.ceil(needed(one["design_effect"] * unlimited)))

    def test_draw(self):
        asked = [{"ask": "draw", "population": int(n), "size": int(self.random.integers(0, n + 1)),
                  "seed": int(self.random.integers(0, 1 << 63))} for n in self.random.integers(1, 300, 40)]
        asked.append({"ask": "draw", "population": 100, "size": 5, "seed": 2026})
        for one, found in zip(asked, answers(asked)):
            self.assertEqual(found, draw(one["population"], one["size"], one["seed"]))


def rotated(word, by):
    return (word << by | word >> (64 - by)) & WORD


def draw(population, size, seed):
    state = []
    for _ in range(4):
        seed = seed + 0x9e3779b97f4a7c15 & WORD
        word = (seed ^ seed >> 30) * 0xbf58476d1ce4e5b9 & WORD
        word = (word ^ word >> 27) * 0x94d049bb133111eb & WORD
        state.append(word ^ word >> 31)
    order = list(range(population))
    for place in range(size):
        bound = population - place
        while True:
            result = rotated(state[1] * 5 & WORD, 7) * 9 & WORD
            shifted = state[1] << 17 & WORD
            state[2] ^= state[0]
            state[3] ^= state[1]
            state[1] ^= state[2]
            state[0] ^= state[3]
            state[2] ^= shifted
            state[3] = rotated(state[3], 45)
            if result >= (1 << 64) % bound:
                break
        other = place + result % bound
        order[place], order[other] = order[other], order[place]
    return order[:size]


class Distributions(Checked):
    def test_moments_quantiles_and_bins(self):
        asked = []
        for level in LEVELS:
            for _ in range(10):
                values = self.random.gamma(2.0, 1.5, int(self.random.integers(2, 200))) + 1000.0
                asked.append({"ask": "distribution", "values": values.tolist(), "level": level, "first": 1001.0,
                              "width": 0.7, "bins": 6, "at": self.random.uniform(0, 1, 5).tolist() + [0.0, 1.0]})
        for one, found in zip(asked, answers(asked)):
            values, n = np.array(one["values"]), len(one["values"])
            self.near(found["mean"]["value"], values.mean())
            self.near(found["standard_deviation"], np.std(values, ddof=1))
            self.near(found["mean"]["interval"],
                      t_interval(one["level"], n - 1, values.mean(), stats.sem(values)))
            self.near(found["quartiles"], np.quantile(values, [0.25, 0.5, 0.75], method="linear"), 12)
            self.near(found["quantiles"], np.quantile(values, one["at"], method="linear"), 12)
            edges = 1001.0 + 0.7 * np.arange(7)
            self.assertEqual(found["counts"], np.histogram(values, edges)[0].tolist())
            self.assertEqual(found["outside"], [int(np.sum(values < edges[0])), int(np.sum(values > edges[-1]))])


if __name__ == "__main__":
    unittest.main()
