"""Brute-force reference for the strength of an ageing bottle.  Writes posterior.json.

    python3 -m venv venv && venv/bin/pip install numpy==2.4.6 scipy==1.17.1
    venv/bin/python posterior.py > posterior.json        (Python 3.11; about six minutes on two cores)

Written apart from the program: from the description of the model below alone, without reading the
program's source, and with none of its shortcuts (no Gaussian update of the start, no closed form
for light).  Deterministic: all seeds are fixed.

MODEL.  A bottle holds content C; y = ln C.  Unknown are
    y0   its content at the start:  y0 ~ N(ln median, sd_ln^2);
    x    ln of the dark rate (per year at 20 C; for bleach, ln of a factor on the published law):
         a mixture of normals; component c has share w_c, mean mu_c = ln median_c, deviation sd_c;
    z    N(0, 1), the error of the light estimate, ONE per bottle: the same in every lit stretch;
    xi   N(0, 1), a fresh one for every worsening.
All are independent a priori.  The events of a case are applied in order:
    age {tau}              dark, first order:  y falls by exp(x) tau;
    age {tau, years, ...}  with light, for `years` real years, the dark time tau spread evenly:
                           dy/dt = -exp(x) tau/years - exp(L z) min(q exp(-a (y - ln Cref)), thin),
                           q = light_per_year, a = power, Cref = reference, L = light_sd,
                           thin = thin_per_year, the rate of a bottle that shades nothing;
    age {time}             second order:  1/C grows by exp(x) time;
    worsen {median, sd_ln} in each component  x += max(0, ln median - mu_c)
                                                   + sqrt(max(0, sd_ln^2 - sd_c^2)) xi;
                           afterwards mu_c = max(mu_c, ln median), sd_c = max(sd_c, sd_ln);
    observe {value, sd}    likelihood: the density of ln value under N(y, sd^2);
    between {low, high, sd} likelihood: P(ln low < y + e < ln high), e ~ N(0, sd^2);
                           high null: no upper bound.

The lit stretch is integrated for C, by Runge-Kutta 4, stopped at zero.

METHODS.  For each mixture component all unknowns are written as standard normals t (y0 last).
A short run of importance sampling finds where the posterior lies (mean m, covariance A A').  Then
  grid   tensor product of midpoint rules over t = m + A s, the box of s covering everything within
         exp(-20) of the peak.  A lies lower-triangular, so along the last axis only y0 changes; each
         cell's mass is spread evenly over the contents its ends reach.  Run twice, the coarser with
         about 0.6 of the nodes per axis and half the Runge-Kutta steps;
  Sobol  importance sampling from half prior, half widened fit, 16 independent scramblings of
         2 x 2^18 points per component.
The error of the grid is |fine - coarse|, that of Sobol twice the standard error of its mean.  Field
by field the value with the smaller error is reported.  `error`: that error, or the distance between
the two methods beyond the larger error, if that is more.  `tolerance`: 4 x error, but not below 2e-4
(relative for the quantiles and rate_ln_sd).  Both are ABSOLUTE, in the field's own units; the one
number under at_least is for all chances of a case.  Errors by method go to stderr.
"""
import json
import platform
import sys
from multiprocessing import Pool

import numpy as np
import scipy
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri
from scipy.stats import qmc

REPLICATES, LOG2_POINTS, RK_STEPS = 16, 18, 80
GRID_NODES = {2: (900, 1500), 3: (300, 180, 100), 4: (48, 48, 120, 70)}  # by number of unknowns


# ---- the model
class Component:
    """One mixture component of one case: which unknowns it has, and how they act."""

    def __init__(self, case, prior):
        self.case, self.share = case, prior["share"]
        self.mu, self.sd = np.log(prior["median"]), prior["sd_ln"]
        self.has_light = any("light_per_year" in e.get("age", {}) for e in case["events"])
        self.worsenings = []  # (shift of x, sd of the fresh factor), in order
        mu, sd = self.mu, self.sd
        for event in case["events"]:
            if "worsen" in event:
                mu2, sd2 = np.log(event["worsen"]["median"]), event["worsen"]["sd_ln"]
                self.worsenings.append((max(0.0, mu2 - mu), np.sqrt(max(0.0, sd2**2 - sd**2))))
                mu, sd = max(mu, mu2), max(sd, sd2)
        self.dims = 2 + self.has_light + sum(s > 0 for _, s in self.worsenings)

    def run(self, t, rk_steps=RK_STEPS):
        """t: (dims, n) standard normals.  Returns ln likelihood, final content, final x."""
        unknown = iter(t)
        x = self.mu + self.sd * next(unknown)
        z = next(unknown) if self.has_light else 0.0
        y = np.log(self.case["start"]["median"]) + self.case["start"]["sd_ln"] * t[-1]
        loglik, worsenings = np.zeros_like(x), iter(self.worsenings)
        for event in self.case["events"]:
            (kind, e), = event.items()
            if kind == "worsen":
                shift, sd = next(worsenings)
                x = x + shift + (sd * next(unknown) if sd > 0 else 0.0)
            elif kind == "observe":
                loglik -= 0.5 * ((np.log(e["value"]) - y) / e["sd"]) ** 2 + np.log(e["sd"] * np.sqrt(2 * np.pi))
            elif kind == "between":
                low = (np.log(e["low"]) - y) / e["sd"]
                high = np.inf if e["high"] is None else (np.log(e["high"]) - y) / e["sd"]
                chance = np.where(low > 0, ndtr(-low) - ndtr(-high), ndtr(high) - ndtr(low))
                loglik += np.log(np.maximum(chance, 1e-300))
            elif "time" in e:
                y = -np.log(np.exp(-y) + np.exp(x) * e["time"])
            elif "light_per_year" in e:
                y = lit(y, x, z, e, rk_steps)
            else:
                y = y - np.exp(x) * e["tau"]
        return loglik, np.exp(y), x


def lit(y, x, z, e, steps):
    """A lit stretch, Runge-Kutta 4 for C with an absorbing floor at C = 0."""
    dark = np.exp(x) * e["tau"] / e["years"]
    factor = np.exp(e["light_sd"] * z)
    light, thin = e["light_per_year"] * factor * e["reference"] ** e["power"], e["thin_per_year"] * factor
    h, c = e["years"] / steps, np.exp(y)

    def slope(c):
        c = np.maximum(c, 0.0)
        return -dark * c - np.minimum(light * c ** (1.0 - e["power"]), thin * c)

    for _ in range(steps):
        k1 = slope(c)
        k2 = slope(c + 0.5 * h * k1)
        k3 = slope(c + 0.5 * h * k2)
        k4 = slope(c + h * k3)
        c = np.maximum(c + h / 6 * (k1 + 2 * k2 + 2 * k3 + k4), 0.0)
    return np.log(np.maximum(c, 1e-300))


# ---- the two methods
def log_normal_density(t, mean, chol):
    s = np.linalg.solve(chol, t - mean[:, None])
    return -0.5 * (s**2).sum(0) - np.log(np.diag(chol)).sum() - 0.5 * len(t) * np.log(2 * np.pi)


def draw(comp, mean, chol, log2_points, seed):
    """Half from the prior, half from N(mean, chol chol').  Returns t, ln target, ln weight, C, x."""
    d, parts = comp.dims, []
    for k, (m, a) in enumerate(((np.zeros(d), np.eye(d)), (mean, chol))):
        u = qmc.Sobol(d, rng=np.random.default_rng([seed, k])).random_base2(log2_points).T
        parts.append(m[:, None] + a @ ndtri(np.clip(u, 1e-12, 1 - 1e-12)))
    t = np.concatenate(parts, axis=1)
    loglik, content, x = comp.run(t)
    prior = log_normal_density(t, np.zeros(d), np.eye(d))
    proposal = np.logaddexp(prior, log_normal_density(t, mean, chol)) - np.log(2)
    return t, loglik + prior, loglik + prior - proposal, content, x


def locate(comp, rounds=7):
    """Mean, Cholesky factor and box (in s) of a component's posterior, by adaptive sampling."""
    mean, chol = np.zeros(comp.dims), np.eye(comp.dims)
    for r in range(rounds):
        t, target, logw, _, _ = draw(comp, mean, 1.3 * chol, 15, 1000 + r)
        w = np.exp(logw - logw.max())
        w /= w.sum()
        mean = t @ w
        cov = ((t - mean[:, None]) * w) @ (t - mean[:, None]).T
        chol = np.linalg.cholesky(cov + 1e-10 * np.eye(comp.dims))
    s = np.linalg.solve(chol, t - mean[:, None])[:, target > target.max() - 20]
    low, high = s.min(1), s.max(1)
    pad = 0.1 * (high - low)
    return mean, chol, low - pad, high + pad


def sobol(comps, places, replicate):
    weights, contents, rates = [], [], []
    for i, (comp, (mean, chol, _, _)) in enumerate(zip(comps, places)):
        _, _, logw, content, x = draw(comp, mean, 1.3 * chol, LOG2_POINTS, 100 * replicate + i)
        weights.append(comp.share * np.exp(logw) / len(logw))
        contents.append(content)
        rates.append(x)
    mass = np.concatenate(weights)
    return mass, np.concatenate(contents), np.zeros_like(mass), np.concatenate(rates)


def grid(comps, places, scale, rk_steps):
    out = []
    for comp, (mean, chol, low, high) in zip(comps, places):
        nodes = [int(n * scale) for n in GRID_NODES[comp.dims]]
        axes = [lo + (hi - lo) * (np.arange(n) + 0.5) / n for lo, hi, n in zip(low, high, nodes)]
        factor = comp.share * np.prod((high - low) / nodes) * np.prod(np.diag(chol)) / (2 * np.pi) ** (comp.dims / 2)
        for first in axes[0]:  # slab by slab, to save memory
            s = np.stack([g.ravel() for g in np.meshgrid([first], *axes[1:], indexing="ij")])
            t = mean[:, None] + chol @ s
            loglik, content, x = comp.run(t, rk_steps)
            mass = factor * np.exp(loglik - 0.5 * (t**2).sum(0))
            width = np.abs(np.gradient(content.reshape(nodes[1:]), axis=-1)).ravel()
            out.append((mass, content, width, x))
    mass, content, width, x = (np.concatenate(v) for v in zip(*out))
    keep = mass > 1e-15 * mass.max()
    return mass[keep], content[keep], width[keep], x[keep]


def summary(case, mass, content, width, x):
    """All outputs as one vector: q05, q50, q95, rate mean, rate sd, ln evidence, chances."""
    evidence = mass.sum()
    p = mass / evidence
    width = np.maximum(width, 1e-12)

    def below(c):
        return p @ np.clip((c - content) / width + 0.5, 0.0, 1.0)

    def quantile(q):
        return 0.0 if below(1e-6) > q else brentq(lambda c: below(c) - q, 1e-6, 300.0, xtol=1e-7)

    mean = p @ x
    tested = any("observe" in e or "between" in e for e in case["events"])
    return np.array([quantile(0.05), quantile(0.50), quantile(0.95), mean, np.sqrt(p @ (x - mean) ** 2),
                     np.log(evidence) if tested else 0.0] + [1.0 - below(c) for c in case["at_least"]])


def solve(case):
    comps = [Component(case, prior) for prior in case["prior"]]
    places = [locate(c) for c in comps]
    fine = summary(case, *grid(comps, places, 1.0, RK_STEPS))
    coarse = summary(case, *grid(comps, places, 0.6, RK_STEPS // 2))
    runs = np.array([summary(case, *sobol(comps, places, r)) for r in range(REPLICATES)])
    by_sobol = runs.mean(0)
    err_grid, err_sobol = abs(fine - coarse), 2 * runs.std(0, ddof=1) / np.sqrt(REPLICATES)
    value = np.where(err_grid <= err_sobol, fine, by_sobol)
    error = np.maximum(np.minimum(err_grid, err_sobol), abs(fine - by_sobol) - np.maximum(err_grid, err_sobol))
    scale = np.ones_like(value)
    scale[[0, 1, 2, 4]] = np.where(value > 0, value, 1.0)[[0, 1, 2, 4]]
    tolerance = np.maximum(4 * error, 2e-4 * scale)
    with np.printoptions(formatter={"float": "{:.2e}".format}, linewidth=160):
        print(f"{case['name']}: q05 q50 q95 rate_ln_mean rate_ln_sd ln_evidence chances...\n"
              f"  value     {value}\n  grid err  {err_grid}\n  Sobol err {err_sobol}\n"
              f"  apart     {fine - by_sobol}\n  tol/scale {tolerance / scale}", file=sys.stderr, flush=True)

    names = ["q05", "q50", "q95", "rate_ln_mean", "rate_ln_sd", "ln_evidence"]

    def sig(a, digits):
        return float(f"{a:.{digits}g}")

    def fields(v):
        return {**{n: sig(a, 3) for n, a in zip(names, v)}, "at_least": sig(v[6:].max(), 3)}

    return {**{k: v for k, v in case.items() if k != "at_least"},
            "expect": {**{n: sig(a, 8) for n, a in zip(names, value)},
                       "at_least": [{"content": c, "chance": sig(a, 7)} for c, a in zip(case["at_least"], value[6:])],
                       "error": fields(error), "tolerance": fields(tolerance)}}


# ---- the cases (contents in g/L)
def age(tau): return {"age": {"tau": tau}}
def lit_age(tau, years, q): return {"age": {"tau": tau, "years": years, "light_per_year": q, "power": 0.26,
                                            "thin_per_year": 1.45 * q, "reference": 30.9, "light_sd": 0.7}}
def time(t): return {"age": {"time": t}}
def worsen(median, sd): return {"worsen": {"median": median, "sd_ln": sd}}
def observe(value, sd): return {"observe": {"value": value, "sd": sd}}
def between(low, high, sd): return {"between": {"low": low, "high": high, "sd": sd}}


def case(name, events, at_least, prior=((1.0, 0.10, 1.0),), start=(30.9, 0.04), kinetics="first-order"):
    return {"name": name, "kinetics": kinetics, "start": {"median": start[0], "sd_ln": start[1]},
            "prior": [{"share": w, "median": m, "sd_ln": s} for w, m, s in prior], "events": events,
            "at_least": at_least}


WARM = 1.618703  # years at 20 C per year at 25 C, Ea 70 kJ/mol (kinetics.md, C3)
SEALED, OPENED, DIRTY = (0.02, 0.9), (0.10, 1.0), (1.0, 1.3)
UNKNOWN_MAKER = ((0.9, *SEALED), (0.1, 0.5, 1.0))
SILL, SUN = 0.53, 2.3
C3 = [age(0.75 * WARM), observe(27.0, 0.03)]
# Twenty simulated tests of a bottle that started at 30.6 and lost 0.15 a year, 0.11 apart in tau:
ROUGH = [29.78, 30.7, 30.37, 28.92, 28.53, 27.31, 26.52, 26.1, 25.6, 26.68,
         25.48, 25.2, 24.22, 23.51, 23.04, 22.91, 23.53, 22.75, 22.06, 21.84]
SHARP = [30.17, 29.92, 28.76, 28.99, 28.17, 27.56, 27.11, 26.61, 26.34, 26.1,
         25.63, 25.22, 24.4, 24.02, 24.15, 23.66, 23.47, 22.93, 22.21, 22.2]

CASES = [
    case("1a published vector C3, at 1 year", C3 + [age(0.25 * WARM)], [24.0, 25.0, 27.0], start=(31.0, 0.04)),
    case("1b published vector C3, at 2 years", C3 + [age(1.25 * WARM)], [20.0, 22.5, 25.0], start=(31.0, 0.04)),
    case("2 sealed, unknown maker, no test", [age(1.5)], [20.0, 25.0, 30.0], UNKNOWN_MAKER),
    case("3 unknown maker, two tests (one low), opened, tested again",
         [age(0.6), observe(30.2, 0.03), age(0.4), observe(26.5, 0.03), worsen(*OPENED), age(0.5),
          observe(24.8, 0.04), age(0.3)], [20.0, 23.0, 26.0], UNKNOWN_MAKER),
    case("4a opened, tested, then dirty", [age(0.4), observe(29.0, 0.03), worsen(*DIRTY), age(0.3)],
         [10.0, 20.0, 25.0]),
    case("4b sealed, opened, tested, dirty, tested",
         [age(0.5), worsen(*OPENED), age(0.4), observe(29.0, 0.03), worsen(*DIRTY), age(0.2),
          observe(25.0, 0.04), age(0.2)], [18.0, 22.0, 25.0], ((1.0, *SEALED),)),
    case("5 opened, clear glass on a sill, no test", [lit_age(0.7, 0.5, SILL)], [15.0, 20.0, 25.0]),
    case("6 sill, tested, then dark", [lit_age(0.7, 0.5, SILL), observe(24.0, 0.04), age(0.5)],
         [20.0, 22.0, 24.0]),
    case("7a sun outdoors for a year", [lit_age(1.4, 1.0, SUN)],
         [0.5, 5.0, 10.0]),
    case("7b sun outdoors for a quarter", [lit_age(0.35, 0.25, SUN)], [5.0, 15.0, 22.0]),
    case("8 dark with two tests, then 60 days of sill, then a test",
         [age(0.25), observe(30.1, 0.01), age(0.25), observe(29.3, 0.01), lit_age(0.23, 60 / 365.25, SILL),
          observe(25.5, 0.02), lit_age(0.23, 60 / 365.25, SILL)], [20.0, 22.0, 24.0]),
    case("9 a strip between two fields", [age(0.8), between(22.0, 48.0, 0.15)], [22.0, 25.0, 29.0]),
    case("10 only a lower bound", [age(0.8), between(40.0, None, 0.15), age(0.4)], [22.0, 26.0, 29.0]),
    case("11 bleach, second order, one test, then more time", [time(0.00466), observe(57.0, 0.03), time(0.003)],
         [42.0, 46.0, 50.0], ((1.0, 1.3, 0.35),), (82.5, 0.05), "second-order"),
    case("12a twenty tests of 3 %", [e for v in ROUGH for e in (age(0.11), observe(v, 0.03))] + [age(0.5)],
         [19.5, 20.0, 20.5]),
    case("12b twenty tests of 0.7 %", [e for v in SHARP for e in (age(0.11), observe(v, 0.007))] + [age(0.5)],
         [20.3, 20.5, 20.7]),
    case("13 a wild outlier", [age(0.5), observe(30.0, 0.03), age(0.25), observe(45.0, 0.03), age(0.5)],
         [33.5, 35.0, 36.0]),
    case("14 two lit stretches of different light share one light error",
         [lit_age(0.4, 0.3, SILL), observe(23.0, 0.03), lit_age(0.07, 0.05, SUN), worsen(*DIRTY), age(0.1)],
         [10.0, 15.0, 18.0]),
]

if __name__ == "__main__":
    with Pool(2) as pool:
        solved = pool.map(solve, CASES, chunksize=1)
    made_with = ("posterior.py (brute force, apart from the program); "
                 f"Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}")
    print(json.dumps({"made_with": made_with, "cases": solved}, indent=1))
