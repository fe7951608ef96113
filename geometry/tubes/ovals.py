"""The flat form of an oval piece of a tube: its section half way, rolled out by arc length and bend."""

import functools
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from geometry.tubes.tube import Tube, Vector, frame, half_axes, section

Range = tuple[float, float]
Complex = NDArray[np.complex128]
OneTurn = Callable[[Vector], Vector]
OnTube = Callable[[Vector, Vector], Vector]

SAMPLES = 256
"""Places round a section that its series are taken from."""
_NEGLIGIBLE = 1e-13
"""Share of the largest term below which the terms of a series are rounding: 1e-11 mm on a whole turn."""


def taper_of(tube: Tube, within: Range) -> Vector:
    """Return how much half the height and half the width grow per mm along the tube itself."""
    low, high = section(tube, within[0]), section(tube, within[1])
    run = 2.0 * (within[1] - within[0]) * frame(tube)[3]
    return np.array([high.height - low.height, high.width - low.width]) / run


def sinc(x: Vector) -> Vector:
    """Return sin(x) / x, 1 at 0; x in radians."""
    return np.asarray(np.sinc(x / math.pi), dtype=np.float64)


def ruled(tube: Tube, within: Range) -> tuple[OneTurn, OnTube, OnTube]:
    """Return three functions in the tube's own axes: ruling(p), normal(s, p) and around(s, p), (n, 3)."""
    da, db = taper_of(tube, within)

    def ruling(p: Vector) -> Vector:
        return np.stack([np.ones_like(p), da * np.cos(p), db * np.sin(p)], axis=-1)

    def around(s: Vector, p: Vector) -> Vector:
        a, b = half_axes(tube, s)
        return np.stack([np.zeros_like(p), -a * np.sin(p), b * np.cos(p)], axis=-1)

    def normal(s: Vector, p: Vector) -> Vector:
        out = np.cross(around(s, p), ruling(p))
        return np.asarray(out / np.linalg.norm(out, axis=-1, keepdims=True), dtype=np.float64)

    return ruling, normal, around


@functools.lru_cache(maxsize=64)
def _rolled(tube: Tube, paper: float, within: Range) -> tuple[float, NDArray[np.intp], Complex, Complex]:
    """Return what a piece's flat form is summed from: the mean bend, orders, the series of path and heading.

    One sheet asks for many points of one piece, and this part of the work is the same for all.
    """
    half = sum(within) / 2.0
    p = np.arange(SAMPLES) * 2.0 * math.pi / SAMPLES
    ruling, normal, _ = ruled(tube, within)
    a, b = half_axes(tube, np.full_like(p, half))
    out = normal(np.full_like(p, half), p)
    base = np.stack([np.zeros_like(p), a * np.cos(p), b * np.sin(p)], axis=-1) + paper / 2.0 * out
    forward = _slope(base)
    speed = np.linalg.norm(forward, axis=-1)
    forward = forward / speed[:, None]
    inward = np.cross(forward, out)
    up = ruling(p)
    up = up / np.linalg.norm(up, axis=-1, keepdims=True)
    if float(np.sum(up * inward)) < 0.0:
        inward = -inward
    bend = np.sum(_slope(forward) * inward, axis=-1)
    mean = float(np.mean(bend))
    swing = _antislope(bend - mean)
    lean = np.arctan2(np.sum(up * inward, axis=-1), np.sum(up * forward, axis=-1))
    return mean, *_series(speed * np.exp(1j * swing), swing + lean)


def flat_oval(tube: Tube, s: Vector, turn: Vector, paper: float, within: Range, middle: float) -> Vector:
    """Return the flat form of an oval piece, exact where it is developable.

    The base is the section half way, paper / 2 outside. In the flat its heading grows by its geodesic bend,
    and each ruling leaves it at the angle it has in space (a developable's flat form, as in any textbook on
    surfaces). All is periodic in the turn, so Fourier series carry it to the accuracy of the numbers.
    """
    half = sum(within) / 2.0
    mean, orders, rolled, heading = _rolled(tube, paper, within)
    ruling, _, _ = ruled(tube, within)
    gone, rate = np.ravel(turn) - middle, mean + orders
    # The waves of all orders at each turn: those of the higher ones are powers of the first's.
    most = orders[-1]
    waves = np.ones((len(orders), len(gone)), dtype=np.complex128)
    waves[most + 1 :] = np.exp(1j * gone)
    np.multiply.accumulate(waves[most:], axis=0, out=waves[most:])
    waves[:most] = waves[:most:-1].conj()
    at_middle = np.exp(1j * orders * middle)
    # Each order of the path adds up to a wave, but for the one that hardly turns.
    still = np.abs(rate) < 0.5
    part = rolled * at_middle * np.exp(1j * mean * middle)
    whole = np.where(still, 0.0, part / (1j * np.where(still, 1.0, rate)))
    # Not by matrix products, which wait for threads that are slower to start than this is to add up.
    path = np.exp(1j * mean * gone) * np.einsum("k,kn->n", whole, waves) - whole.sum()
    for slow, share in zip(rate[still], part[still], strict=True):
        path += share * np.exp(1j * slow * gone / 2.0) * sinc(slow * gone / 2.0) * gone
    leans = np.einsum("k,kn->n", heading * at_middle, waves).real
    ray = np.exp(1j * (mean * (gone + middle) + leans))
    ray_middle = np.exp(1j * (mean * middle + float(np.sum(heading * at_middle).real)))
    length = np.ravel(s - half) * frame(tube)[3] * np.linalg.norm(ruling(gone + middle), axis=-1)
    start = (half - within[0]) * frame(tube)[3] * float(np.linalg.norm(ruling(np.array([middle]))))
    flat = (path + length * ray) / ray_middle
    return np.stack([flat.real + start, -flat.imag], axis=-1).reshape(*np.shape(turn), 2)


def _orders() -> Vector:
    return np.asarray(np.fft.fftfreq(SAMPLES, 1.0 / SAMPLES), dtype=np.float64)


def _slope(values: Vector) -> Vector:
    """Return the derivative in the turn of samples (n, ...) of a periodic function."""
    terms = np.fft.fft(values, axis=0)
    orders = _orders().reshape(-1, *([1] * (values.ndim - 1)))
    return np.asarray(np.fft.ifft(1j * orders * terms, axis=0).real)


def _antislope(values: Vector) -> Vector:
    """Return the periodic integral in the turn of samples whose mean is 0."""
    orders = _orders()
    terms = np.fft.fft(values)
    terms[1:] /= 1j * orders[1:]
    terms[0] = 0.0
    return np.asarray(np.fft.ifft(terms).real)


def _series(*several: Vector | Complex) -> tuple[NDArray[np.intp], Complex, Complex]:
    """Return the orders and coefficients of two Fourier series, up to the last order that is something."""
    path, heading = (np.fft.fft(values) / SAMPLES for values in several)
    most = 0
    for terms in (path, heading):
        terms[np.abs(terms) <= _NEGLIGIBLE * np.max(np.abs(terms))] = 0.0
        most = max(most, int(np.max(np.abs(_orders()[terms != 0.0]))))
    most = min(most, SAMPLES // 2 - 1)
    orders = np.arange(-most, most + 1)
    return orders, path[orders], heading[orders]
