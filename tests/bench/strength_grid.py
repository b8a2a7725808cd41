"""The strengths of `tests/bench/grid.rs` by numpy, every step over many stocks and all rates at once.

    strength_grid.py STOCKS.json STRENGTHS.json

The same model on the same grid as the program: 121 rates from -5.5 to 5.5 standard deviations, a normal logarithm of the
content at each, days that pass at the temperatures of their places, tests that may be slips, and a second, closer grid where
the tests have left fewer than ten rates. Written apart from the program, from its documentation. Prints the seconds of the
arithmetic alone, of the best of several sizes of a chunk.

Sources: Arrhenius; Adam & Gordon 1999 (hypochlorite); Abramowitz & Stegun 1964, 7.1.26 (the error function, to 1.5e-7).
"""

import json
import sys
import time

import numpy as np

RATES, REACH, NEGLIGIBLE, FEW = 121, 5.5, 1e-6, 10
SLIP, SLIP_VARIANCE = 0.01, 1.5**2
NEIGHBOURHOOD, WIDEST = 0.3, 0.3
GAS = 8.314462618
QUARTER = np.sin(np.pi / 4) / (np.pi / 4)


def days_of(place, day_of_year):
    """Temperatures of every day, in kelvin."""
    if place["summer"] == place["winter"]:
        return np.full(day_of_year.shape, place["summer"] + 273.15)
    top = (place["warmest_month"] - 0.5) * 365.25 / 12
    turn = (day_of_year + 0.5 - top) / 365.25
    swing = 0.5 * (place["summer"] - place["winter"]) / QUARTER
    return 0.5 * (place["summer"] + place["winter"]) + swing * np.cos(2 * np.pi * turn) + 273.15


def times(stocks, places, day_of_year):
    """The belief's time of every stretch of every stock: years at 20 °C, or the integral of the rate constant."""
    kelvin = [days_of(place, day_of_year) for place in places]
    since = lambda speed: np.concatenate([[0.0], np.cumsum(speed)])
    found = np.empty(stocks["place"].shape)
    for law in (1, 2):
        ours = stocks["law"] == law
        for number, warm in enumerate(kelvin):
            if law == 1:
                table = since(np.exp(stocks["activation"] * 1000 / GAS * (1 / 293.15 - 1 / warm))) / 365.25
            else:
                table = since(2.083e10 * warm * np.exp(-1.018e5 / (GAS * warm)) * np.exp(-56.5 / GAS))
            here = ours[:, None] & (stocks["place"] == number)
            found[here] = (table[stocks["to"]] - table[stocks["from"]])[here]
    second = stocks["law"] == 2
    found[second] *= (10 ** (0.149 * stocks["ionic_strength"]) * 86400 / stocks["molar_mass"])[second, None]
    return found


def seen(mean, variance, found, noise):
    spread = variance + noise
    gain = variance / spread
    surprise = found - mean
    likelihood = np.exp(-0.5 * surprise * surprise / spread) / np.sqrt(2 * np.pi * spread)
    return likelihood, mean + gain * surprise, variance * (1 - gain), 1 - gain


def walk(part, low, high):
    """Weights, means and widths at the end, on a grid between these rates."""
    mid, sd = part["rate_mean"], part["rate_sd"]
    low, high = np.maximum(low, mid - REACH * sd), np.minimum(high, mid + REACH * sd)
    step = (high - low) / (RATES - 1)
    rate_ln = low[:, None] + step[:, None] * np.arange(RATES)
    z = (rate_ln - mid[:, None]) / sd[:, None]
    weight = np.exp(-0.5 * z * z)
    rate = np.exp(rate_ln)
    mean = np.broadcast_to(part["content_ln"][:, None], rate.shape).copy()
    variance = np.broadcast_to((part["content_sd"] ** 2)[:, None], rate.shape).copy()
    by_rate = np.zeros_like(rate)
    second = (part["law"] == 2)[:, None]
    all_second, none_second = second.all(), not second.any()
    tidy = lambda weight: np.where(weight > NEGLIGIBLE * weight.max(axis=1, keepdims=True), weight, 0.0)
    weight = tidy(weight)
    for stretch in range(part["time"].shape[1]):
        lost = rate * part["time"][:, stretch, None]
        if none_second:
            mean -= lost
            by_rate -= lost
        else:
            growth = np.exp(mean) * lost
            shrink = 1 / (1 + growth)
            fallen, slope, less = mean - np.log1p(growth), by_rate * shrink - growth * shrink, variance * shrink * shrink
            if all_second:
                mean, by_rate, variance = fallen, slope, less
            else:
                mean = np.where(second, fallen, mean - lost)
                by_rate = np.where(second, slope, by_rate - lost)
                variance = np.where(second, less, variance)
        if stretch % 2 == 0:
            continue
        test = stretch // 2
        found, noise = part["found_ln"][:, test, None], (part["found_sd"][:, test] ** 2)[:, None]
        likelihood, good_mean, good_variance, kept = seen(mean, variance, found, noise)
        # Only where the test is surprising does the chance of a slip matter.
        unsure = likelihood <= 1e3 * SLIP / np.sqrt(2 * np.pi * SLIP_VARIANCE)
        slip, slip_mean, slip_variance, slip_kept = seen(mean, variance, found, noise + SLIP_VARIANCE)
        a, b = (1 - SLIP) * likelihood, SLIP * slip
        total = a + b
        a, b = a / total, b / total
        mixed = a * good_mean + b * slip_mean
        spread = a * (good_variance + (good_mean - mixed) ** 2) + b * (slip_variance + (slip_mean - mixed) ** 2)
        weight = tidy(weight * np.where(unsure, total, (1 - SLIP) * likelihood))
        mean, variance = np.where(unsure, mixed, good_mean), np.where(unsure, spread, good_variance)
        by_rate = by_rate * np.where(unsure, a * kept + b * slip_kept, kept)
    weight /= weight.sum(axis=1, keepdims=True)
    between = (NEIGHBOURHOOD * by_rate * step[:, None]) ** 2
    return weight, mean, np.sqrt(np.maximum(variance, np.minimum(between, WIDEST**2))), rate_ln, step


def closer(weight, rate_ln, step):
    """Which stocks want a closer grid, and between which rates."""
    largest = weight.max(axis=1, keepdims=True)
    wanted = (weight > 1e-3 * largest).sum(axis=1) < FEW
    left = weight > 1e-5 * largest
    low = np.where(left, rate_ln, np.inf).min(axis=1) - step
    high = np.where(left, rate_ln, -np.inf).max(axis=1) + step
    return wanted, low, high


def below_and_slope(x, weight, mean, sd):
    z = (x[:, None] - mean) / sd
    bell = np.exp(-0.5 * z * z)
    t = 1 / (1 + 0.3275911 * np.sqrt(0.5) * np.abs(z))
    tail = 0.5 * bell * t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))))
    below = (weight * np.where(z > 0, 1 - tail, tail)).sum(axis=1)
    return below, (weight * bell / sd).sum(axis=1) / np.sqrt(2 * np.pi)


def quantiles(weight, mean, sd):
    middle = (weight * mean).sum(axis=1)
    width = np.sqrt((weight * (sd * sd + (mean - middle[:, None]) ** 2)).sum(axis=1))
    found = []
    for share, z in ((0.05, -1.6449), (0.5, 0.0), (0.95, 1.6449)):
        x = middle + z * width
        for _ in range(30):
            below, slope = below_and_slope(x, weight, mean, sd)
            step = np.clip((share - below) / np.maximum(slope, 1e-12), -width, width)
            x = x + step
            if (np.abs(step) < 1e-8 * width).all():
                break
        found.append(np.exp(x))
    return np.stack(found, axis=1)


def strengths(stocks, places, day_of_year, chunk):
    stocks = dict(stocks, time=times(stocks, places, day_of_year))
    count = len(stocks["law"])
    found = np.empty((count, 3))
    windows = np.stack([np.full(count, -1e9), np.full(count, 1e9)], axis=1)
    # One law after the other, so that no chunk computes both.
    order = np.argsort(stocks["law"], kind="stable")
    arrays = {key: value for key, value in stocks.items() if isinstance(value, np.ndarray)}
    for begin in range(0, count, chunk):
        rows = order[begin : begin + chunk]
        part = {key: value[rows] for key, value in arrays.items()}
        open_low, open_high = np.full(len(rows), -np.inf), np.full(len(rows), np.inf)
        weight, mean, sd, rate_ln, step = walk(part, open_low, open_high)
        wanted, low, high = closer(weight, rate_ln, step)
        found[rows] = quantiles(weight, mean, sd)
        if wanted.any():
            again = {key: value[wanted] for key, value in part.items()}
            weight, mean, sd, _, _ = walk(again, low[wanted], high[wanted])
            found[rows[wanted]] = quantiles(weight, mean, sd)
            windows[rows[wanted]] = np.stack([low[wanted], high[wanted]], axis=1)
    return found, windows


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        told = json.load(file)
    stocks = {key: np.array(value) for key, value in told["stocks"].items()}
    stocks["activation"] = told["activation"]
    day_of_year = np.array(told["day_of_year"], dtype=float)
    best = None
    for chunk in (64, 256, 1024, 10000):
        for _ in range(3):
            start = time.perf_counter()
            found, windows = strengths(stocks, told["places"], day_of_year, chunk)
            seconds = time.perf_counter() - start
            if best is None or seconds < best[0]:
                best = (seconds, chunk)
    with open(sys.argv[2], "w", encoding="utf-8") as file:
        json.dump({"strengths": found.tolist(), "windows": windows.tolist()}, file)
    print(f"{best[0]:.6f} {best[1]} {np.__version__}")


main()
