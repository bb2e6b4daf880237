"""Spline, arc length and strip against scipy and an independent cubic convolution in numpy.

Sources: natural cubic spline, de Boor, A Practical Guide to Splines, 1978, ch. IV, as in
scipy.interpolate.CubicSpline; arc length by scipy.integrate.quad; cubic convolution, Keys, IEEE Trans.
Acoust. Speech Signal Process. 1981;29:1153, a = -1/2.
"""
import json
import os
import pathlib
import subprocess
import tempfile
import unittest

import numpy
import scipy.integrate
import scipy.interpolate
import scipy.ndimage
import scipy.optimize

DUMP = pathlib.Path(os.environ["CANALRULE_BUILD"]) / "tests" / "dump_strip"

# A canal as a hand draws it, orifice first, bent by some 25 degrees; radius of curvature above 150 px.
POINTS = [[212.3, 61.7], [219.1, 171.2], [232.8, 262.4],
          [258.9, 368.1], [301.6, 470.3], [352.2, 561.9]]
APEX = [349.0, 566.0]


def answer(request):
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "request.json"
        file.write_text(json.dumps(request), encoding="utf-8")
        run = subprocess.run([DUMP, file], capture_output=True, text=True, check=False)
    if run.returncode != 0:
        raise AssertionError(f"exit code {run.returncode}: {run.stderr}")
    return json.loads(run.stdout)


class ReferencePath:
    """The natural spline through the points over their cumulative chord, from the apical end."""

    def __init__(self, points, apex, aspect):
        square = numpy.array(points[::-1]) * [1.0, aspect]
        knots = numpy.concatenate([[0.0], numpy.cumsum(numpy.hypot(*numpy.diff(square, axis=0).T))])
        self.curve = scipy.interpolate.CubicSpline(knots, square, bc_type="natural")
        self.end = knots[-1]
        self.knots = knots
        self.aspect = aspect
        pieces = [self.integral(a, b) for a, b in zip(knots, knots[1:])]
        self.arc_at_knots = numpy.concatenate([[0.0], numpy.cumsum(pieces)])
        self.length = self.arc_at_knots[-1]
        self.apex_at = self.foot(numpy.array(apex) * [1.0, aspect])

    def foot(self, point):
        """Arc length of the nearest place, the straight continuations included."""
        t = numpy.linspace(0.0, self.end, 2001)
        nearest = numpy.clip(numpy.argmin(numpy.hypot(*(self.curve(t) - point).T)), 1, t.size - 2)
        best = scipy.optimize.minimize_scalar(
            lambda u: numpy.sum((self.curve(u) - point) ** 2), method="bounded",
            bounds=(t[nearest - 1], t[nearest + 1]), options={"xatol": 1e-9}).x
        over = numpy.dot(point - self.curve(0.0), self.curve(0.0, 1)) / self.speed(0.0)
        return over if over < 0.0 and best < t[1] else self.arc(best)

    def speed(self, t):
        return numpy.hypot(*self.curve(t, 1))

    def arc(self, t):
        piece = max(0, int(numpy.searchsorted(self.knots, t)) - 1)
        return self.arc_at_knots[piece] + self.integral(self.knots[piece], t)

    def integral(self, a, b):
        return scipy.integrate.quad(self.speed, a, b, epsabs=1e-10)[0]

    def at_arc(self, along):
        """Place and direction, rows stretched, at an arc length from the apical end."""
        if along <= 0.0 or along >= self.length:
            t, over = (0.0, along) if along <= 0.0 else (self.end, along - self.length)
            direction = self.curve(t, 1) / self.speed(t)
            return self.curve(t) + over * direction, direction
        t = scipy.optimize.brentq(lambda u: self.arc(u) - along, 0.0, self.end, xtol=1e-8)
        return self.curve(t), self.curve(t, 1) / self.speed(t)

    def at(self, s):
        place, direction = self.at_arc(s + self.apex_at)
        return place / [1.0, self.aspect], direction


def keys(distance):
    """The cubic convolution kernel of Keys 1981, equation 15."""
    d = numpy.abs(distance)
    near = 1.5 * d**3 - 2.5 * d**2 + 1.0
    far = -0.5 * d**3 + 2.5 * d**2 - 4.0 * d + 2.0
    return numpy.where(d <= 1.0, near, numpy.where(d < 2.0, far, 0.0))


def convolved(image, x, y):
    """The image at column x, row y, its samples at whole numbers, by the kernel over all samples near."""
    columns = numpy.arange(int(numpy.floor(x)) - 2, int(numpy.floor(x)) + 4)
    rows = numpy.arange(int(numpy.floor(y)) - 2, int(numpy.floor(y)) + 4)
    return keys(y - rows) @ image[numpy.ix_(rows, columns)] @ keys(x - columns)


class Spline(unittest.TestCase):
    def test_values_and_slopes_are_scipy_s(self):
        random = numpy.random.default_rng(20240611)
        for count in (2, 3, 4, 9, 25):
            t = numpy.cumsum(random.uniform(0.2, 60.0, count))
            y = random.uniform(-500.0, 500.0, count)
            at = numpy.concatenate([t, random.uniform(t[0], t[-1], 200)])
            ours = answer({"spline": {"t": t.tolist(), "y": y.tolist(), "at": at.tolist()}})["spline"]
            theirs = scipy.interpolate.CubicSpline(t, y, bc_type="natural")
            scale = numpy.abs(theirs(at)).max()
            numpy.testing.assert_allclose(ours["value"], theirs(at), rtol=0.0, atol=1e-9 * max(1.0, scale))
            slope = theirs(at, 1)
            steepest = max(1.0, numpy.abs(slope).max())
            numpy.testing.assert_allclose(ours["slope"], slope, rtol=0.0, atol=1e-9 * steepest)

    def test_beyond_its_ends_it_goes_on_straight(self):
        t, y = [0.0, 3.0, 7.0], [1.0, 4.0, -2.0]
        curve = scipy.interpolate.CubicSpline(t, y, bc_type="natural")
        ours = answer({"spline": {"t": t, "y": y, "at": [-5.0, 12.0]}})["spline"]
        expected = [curve(0.0) - 5.0 * curve(0.0, 1), curve(7.0) + 5.0 * curve(7.0, 1)]
        numpy.testing.assert_allclose(ours["value"], expected, rtol=0.0, atol=1e-9)


class Path(unittest.TestCase):
    def test_places_by_arc_length_are_those_of_an_integral(self):
        for aspect in (1.0, 1.25):
            reference = ReferencePath(POINTS, APEX, aspect)
            at = [-60.0, -3.0, 0.0, 0.4, 57.3, 190.0, 333.3, 480.0, 700.0]
            ours = answer({"path": {"points": POINTS, "apex": APEX, "aspect": aspect, "at": at}})["path"]
            self.assertAlmostEqual(ours["last"] - ours["first"], reference.length, delta=1e-4)
            self.assertAlmostEqual(-ours["first"], reference.apex_at, delta=2e-4)
            for s, place, direction in zip(at, ours["place"], ours["direction"]):
                there, along = reference.at(s)
                where = f"s = {s}, aspect {aspect}"
                numpy.testing.assert_allclose(place, there, rtol=0.0, atol=3e-4, err_msg=where)
                numpy.testing.assert_allclose(direction, along, rtol=0.0, atol=1e-5)


class Strip(unittest.TestCase):
    GRID = {"first_s": -20.3, "first_n": -31.5, "step": 0.75, "strip_rows": 60, "strip_columns": 85}

    def strip_of(self, image, aspect):
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder) / "image.raw"
            image.astype(numpy.float32).tofile(file)
            stored = {"image": str(file), "rows": image.shape[0], "columns": image.shape[1]}
            return answer({"path": {"points": POINTS, "apex": APEX, "aspect": aspect, "at": []},
                           "strip": self.GRID | stored})["strip"]

    def places(self, aspect):
        """Column and row, samples at whole numbers, of every sample of the strip."""
        reference = ReferencePath(POINTS, APEX, aspect)
        grid = self.GRID
        for i in range(grid["strip_rows"]):
            place, along = reference.at(grid["first_s"] + i * grid["step"])
            for j in range(grid["strip_columns"]):
                n = grid["first_n"] + j * grid["step"]
                yield i, j, place[0] - along[1] * n - 0.5, place[1] + along[0] * n / aspect - 0.5

    def test_samples_are_those_of_cubic_convolution(self):
        image = numpy.random.default_rng(7).uniform(0.0, 1.0, (640, 420)).astype(numpy.float32).astype(float)
        for aspect in (1.0, 0.8):
            strip = self.strip_of(image, aspect)
            for i, j, x, y in self.places(aspect):
                self.assertEqual(strip["usable"][i][j], 255)
                # White noise changes by up to 2.5 a pixel, so 3e-4 px of the path's place make under 1e-3.
                self.assertAlmostEqual(strip["value"][i][j], convolved(image, x, y), delta=1e-3)

    def test_a_smooth_image_is_what_a_spline_makes_of_it(self):
        rows, columns = numpy.mgrid[0:640, 0:420]
        wave = 40.0  # px a period
        image = numpy.sin(2.0 * numpy.pi * columns / wave) * numpy.cos(2.0 * numpy.pi * rows / wave)
        strip = self.strip_of(image, 1.0)
        places = list(self.places(1.0))
        rows_and_columns = [[p[3] for p in places], [p[2] for p in places]]
        theirs = scipy.ndimage.map_coordinates(image, rows_and_columns, order=3)
        # Keys' slopes are off by f'''/6, which between samples comes to s (1 - s) (1 - 2 s) f'''/6, at most
        # (2 pi / 40)^3 / (6 * 6 sqrt 3) = 6.2e-5 each way; the spline's own error is of fourth order, 2e-6;
        # 3e-4 px of the path's place are 5e-5.
        ours = [strip["value"][i][j] for i, j, _, _ in places]
        numpy.testing.assert_allclose(ours, theirs, rtol=0.0, atol=2e-4)

    def test_what_lies_off_the_film_is_unusable(self):
        strip = self.strip_of(numpy.ones((570, 420)), 1.0)  # the apex lies 4 px from the lower edge
        usable = numpy.array(strip["usable"])
        for i, j, x, y in self.places(1.0):
            inside = 1.0 <= x and 1.0 <= y and numpy.floor(x) + 2 < 420 and numpy.floor(y) + 2 < 570
            if abs(y - round(y)) > 1e-3 and abs(x - round(x)) > 1e-3:
                self.assertEqual(usable[i, j] == 255, inside, msg=f"x {x}, y {y}")


if __name__ == "__main__":
    unittest.main()
