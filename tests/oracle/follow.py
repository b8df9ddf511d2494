"""Crate `follow` against statistics in other hands: scipy, statsmodels, pymannkendall, certified values, published worked examples.

    python tests/oracle/follow.py --lines PROGRAM [--count N] [--runs N] [--seed N] [--selftest]

`PROGRAM` is the example `lines` of crate `follow`. Bars: 1e-9 (absolute, or relative to numbers above 1) against libraries on N random
series; 9 digits against certified values; 6 digits for random effects; coverage of the trend's interval at least 95 % less the slack of
a simulation. What a check compares with stands in its name. With `--selftest` every answer of the program is made 5 % too large, and each
check of an answer must fail.
"""

import argparse
import csv
import json
import pathlib
import subprocess
import warnings

import numpy as np
import pymannkendall
import pymare
import scipy
import statsmodels
import statsmodels.api as sm
from pymare.estimators import VarianceBasedLikelihoodEstimator
from scipy import integrate, optimize, stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint

DATA = pathlib.Path(__file__).resolve().parent / "data"
BAR = 1e-9
NAN = [float("nan")]
NUDGE = 0.0
passed = failed = 0


def check(name, off, bar=BAR, least=1, moved=True):
    """Counts one comparison: the largest of `off` must be at most `bar`, over at least `least` numbers. What is not `moved` by an answer
    that is a little off stays out of the self-test."""
    global passed, failed
    if NUDGE and not moved:
        return
    off = np.abs(np.concatenate([np.ravel(np.asarray(o, float)) for o in off])) if len(off) else np.array([])
    worst = off.max() if off.size else np.nan
    fine = bool(off.size >= (1 if NUDGE else least) and worst <= bar)  # not a number fails
    passed, failed = passed + fine, failed + (not fine)
    if NUDGE and not fine:
        return
    print(f"{'fine  ' if fine else 'FAILED'} {name}: {off.size} numbers, at most {worst:.3g} off; bar {bar:g}")


def off(ours, theirs):
    """Differences, relative where the number is above 1; both without an answer agree."""
    ours, theirs = np.asarray(ours, float), np.asarray(theirs, float)
    if ours.shape != theirs.shape:
        return np.array([np.inf])
    if np.isnan(ours).all() and np.isnan(theirs).all():
        return np.array([])
    return (ours - theirs) / np.maximum(1, np.abs(theirs))


class Lines:
    """The crate, asked in lines."""

    def __init__(self, program):
        self.program = program

    def ask(self, op, problems):
        """Problems are lists of groups of numbers; an answer is a list of numbers, `[nan]` for none."""
        lines = [f"{op} " + ";".join(" ".join(repr(float(v)) for v in group) for group in groups) for groups in problems]
        run = subprocess.run([self.program], input="\n".join(lines) + "\n", capture_output=True, text=True, check=False)
        answers = run.stdout.splitlines()
        if run.returncode or len(answers) != len(lines):
            raise SystemExit(f"{len(lines)} lines of {op} asked, {len(answers)} answered: {run.stderr}")
        return [NAN if a == "none" else [float(v) * (1 + NUDGE) for v in a.split()] for a in answers]


def rows(name):
    with (DATA / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def random_series(random, count):
    """Days with holes, and values: every other series rounded to eighths (which sums keep exact), so that there are ties."""
    for k in range(count):
        n = int(random.integers(5, 41))
        days = np.sort(random.choice(np.arange(1, 60), n, replace=False)).astype(float)
        walk = np.cumsum(random.normal(size=n)) * random.random() + random.normal(size=n)
        values = 5 + walk + random.normal() * 0.05 * days
        yield (days, np.round(values * 8) / 8) if k % 2 else (days, values)


def distributions(lines, random, count):
    # Not nearer to the middle than .01, where both are near zero.
    p = np.concatenate([10 ** random.uniform(-9, np.log10(0.49), count), 1 - 10 ** random.uniform(-9, np.log10(0.49), count)])
    df = 10 ** random.uniform(0, 3, 2 * count)
    ours = np.ravel(lines.ask("t_quantile", [[q] for q in zip(p, df)]))
    theirs = stats.t.ppf(p, df)
    check("Student's quantile, scipy, relative", [(ours - theirs) / theirs])
    t = random.uniform(-12, 12, count)
    check("Student's two-sided p, scipy", [np.ravel(lines.ask("t_two_sided", [[q] for q in zip(t, df)])) - 2 * stats.t.sf(abs(t), df[:count])])
    check("normal quantile, scipy", [np.ravel(lines.ask("normal_quantile", [[[q]] for q in p])) - stats.norm.ppf(p)])
    check("normal two-sided p, scipy", [np.ravel(lines.ask("normal_two_sided", [[[z]] for z in t])) - 2 * stats.norm.sf(abs(t))])
    cells = [(e, d, a) for a in (0.05, 0.045, 0.005) for d in [*range(2, 61), 2.5, 7.5] for e in np.linspace(0, 8, 17)]
    ours = np.ravel(lines.ask("power", [[c] for c in cells]))
    check("power of a t test, scipy's noncentral t", [ours - [power(*c) for c in cells]], 1e-6)


def power(effect, df, alpha):
    cut = stats.t.isf(alpha / 2, df)
    found = stats.nct.sf(cut, df, effect) + stats.nct.cdf(-cut, df, effect)
    if np.isfinite(found):
        return found
    # Where the library has no answer: the same as an integral over the chi-square.
    both = lambda u: (stats.norm.sf(cut * u - effect) + stats.norm.cdf(-cut * u - effect)) * stats.chi2.pdf(df * u * u, df) * 2 * df * u
    return integrate.quad(both, 0, 1, epsabs=1e-12)[0] + integrate.quad(both, 1, 12, epsabs=1e-12)[0]


def ranks(lines, series):
    x, y = [s[0] for s in series], [s[1] for s in series]
    pairs = list(zip(x, y))
    theirs = [stats.kendalltau(a, b).statistic for a, b in pairs]
    check("Kendall's tau-b, scipy", [off(o[0], t) for o, t in zip(lines.ask("tau", pairs), theirs)])
    crossed = [(np.round(b), a[::-1]) for a, b in pairs]
    theirs = [stats.kendalltau(a, b).statistic for a, b in crossed]
    check("Kendall's tau-b with ties in one, scipy", [off(o[0], t) for o, t in zip(lines.ask("tau", crossed), theirs)])

    theirs = [pymannkendall.original_test(v) for v in y]
    ours = lines.ask("mann_kendall", [[v] for v in y])
    check("Mann-Kendall s, variance, z, p, pymannkendall", [off(o, (t.s, t.var_s, t.z, t.p)) for o, t in zip(ours, theirs)])
    with np.errstate(invalid="ignore"):
        theirs = [pymannkendall.hamed_rao_modification_test(v) for v in y]
    ours = lines.ask("hamed_rao", [[v] for v in y])
    theirs = [(t.s, t.var_s, t.z, t.p) if t.var_s > 0 else NAN for t in theirs]
    check("Hamed-Rao s, variance, z, p, pymannkendall", [off(o, t) for o, t in zip(ours, theirs)])

    for level in (0.95, 0.8):
        ours = lines.ask("theil_sen", [(*p, [level]) for p in pairs])
        theirs = [stats.theilslopes(b, a, level) for a, b in pairs]
        check(f"Theil-Sen slope, intercept, {level} interval, scipy", [off(o, t) for o, t in zip(ours, theirs)])
    # Days as in a folder of photographs: several on one.
    tied = [(np.floor(a / 4), b) for a, b in pairs]
    ours, theirs = lines.ask("theil_sen", [(*p, [0.95]) for p in tied]), [stats.theilslopes(b, a, 0.95) for a, b in tied]
    check("Theil-Sen with tied days, scipy", [off(o, t) for o, t in zip(ours, theirs)])


def differences(lines, random, series):
    d = [np.round((v - np.median(v)) * 2) / 2 if k % 4 == 1 else v - 5 - random.normal() for k, (_, v) in enumerate(series)]
    d += [random.permutation(np.arange(1, n + 1)) * random.choice([-1, 1], n) for n in range(1, 60) for _ in range(3)]
    ours, exact, approximated = lines.ask("wilcoxon", [[v] for v in d]), [], []
    for o, v in zip(ours, d):
        kept = v[v != 0]
        if not len(kept):
            exact.append(off(o, NAN))
            continue
        counted = len(kept) == len(v) <= 50 and len(np.unique(abs(v))) == len(v)
        t = stats.wilcoxon(v, zero_method="wilcox", correction=True, method="exact" if counted else "asymptotic")
        (exact if counted else approximated).append(
            np.append(off([min(o[:2]), o[3], o[4]], [t.statistic, t.pvalue, counted]), o[2] - len(kept)))
    check("Wilcoxon's signed ranks, counted out, scipy", exact, 1e-12, least=1000)
    check("Wilcoxon's signed ranks, approximated, scipy", approximated, least=500)

    short = [v[:n] for v, n in zip(d, random.integers(1, 11, len(d)))][:300]
    short += [random.normal(0.4, 1, n) for n in (14, 16)] + [random.integers(-9, 12, 15).astype(float)]
    sums = lambda x, axis: np.mean(x, axis=axis)
    theirs = [stats.permutation_test((v,), sums, permutation_type="samples", n_resamples=np.inf, batch=4096).pvalue if len(v) > 1
              else 1.0 for v in short]
    check("all changes of sign, scipy", [off(o[0], t) for o, t in zip(lines.ask("sign_changes", [[v] for v in short]), theirs)], 1e-12)

    theirs = [((v > 0).sum(), (v < 0).sum(), stats.binomtest(int((v > 0).sum()), int((v != 0).sum())).pvalue) if (v != 0).any() else NAN
              for v in d]
    check("sign test, scipy", [off(o, t) for o, t in zip(lines.ask("sign_test", [[v] for v in d]), theirs)])
    many = [v for v in d if len(v) > 1 and np.ptp(v) > 0]
    theirs = [(np.mean(v), np.std(v, ddof=1), *(lambda t: (t.statistic, t.df, t.pvalue))(stats.ttest_1samp(v, 0))) for v in many]
    check("paired t, scipy", [off(o, t) for o, t in zip(lines.ask("paired_t", [[v] for v in many]), theirs)])

    p = [random.random(n) ** 3 for n in random.integers(1, 20, 300)] + [np.round(random.random(8) ** 2, 1) for _ in range(100)]
    ours = lines.ask("holm", [[v] for v in p])
    check("Holm, statsmodels", [off(o, multipletests(v, method="holm")[1]) for o, v in zip(ours, p)])
    cases = [(int(random.integers(0, n + 1)), n) for n in random.integers(1, 6000, 300)] + [(0, 9), (9, 9)]
    theirs = [proportion_confint(c, n, method="wilson") for c, n in cases]
    check("Wilson's interval, statsmodels", [off(o, t) for o, t in zip(lines.ask("wilson", [[(*c, 0.95)] for c in cases]), theirs)])


def fit(x, y, degree=1):
    """Coefficients, standard errors, residual sd and sum of squares, of a rational least-squares fit in 60 digits."""
    import mpmath
    with mpmath.workdps(60):
        x = mpmath.matrix([[mpmath.mpf(float(v)) ** d for d in range(degree + 1)] for v in x])
        y = mpmath.matrix([mpmath.mpf(float(v)) for v in y])
        inverse = (x.T * x) ** -1
        b = inverse * (x.T * y)
        rest = y - x * b
        rss = (rest.T * rest)[0]
        s2 = rss / (len(y) - degree - 1)
        return [float(v) for v in [*b, *(mpmath.sqrt(s2 * inverse[i, i]) for i in range(degree + 1)), mpmath.sqrt(s2), rss]]


def digits(ours, certified):
    """How many digits of the certified values are lost, as relative differences; of zero, the difference."""
    ours, certified = np.asarray(ours), np.asarray(certified, float)
    return (ours - certified) / np.where(certified == 0, 1, np.abs(certified))


def regressions(lines, random, series):
    nine = 5e-10
    norris = rows("nist_norris.csv")
    x, y = ([float(r[c]) for r in norris] for c in "xy")
    certified = [-0.262323073774029, 1.00211681802045, 0.232818234301152, 0.429796848199937e-3, 0.884796396144373, 26.6173985294224]
    check("NIST Norris, certified", [digits(lines.ask("polynomial", [(x, y, [1])])[0], certified)], nine)

    from statsmodels.regression.tests.results.results_regression import Longley
    data, nist = sm.datasets.longley.load_pandas(), Longley()
    columns = [np.append([], data.exog[c]) for c in data.exog] + [np.ones(16)]
    ours = lines.ask("regression", [(data.endog, *columns)])[0]
    check("NIST Longley, certified (as statsmodels prints it)", [digits(ours, [*nist.params, *nist.bse, nist.scale**0.5, nist.ssr])], nine)

    # Wampler 1 to 5: made of 1 + x + ... + x^5 (or its tenths) and a fixed disturbance at right angles to it, of 1, 100 or 10 000 times;
    # the disturbance is from memory, and that the certified coefficients come out in 60 digits says that it is right.
    x = np.arange(21.0)
    delta = np.array([759, -2048, 2048, -2048, 2523, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 1838, -2048, 2048, -2048, 2523, -2048,
                      2048, -2048, 759.0])
    whole, tenths = sum(x**d for d in range(6)), sum(x**d / 10**d for d in range(6))
    for name, y, b in (("1", whole, np.ones(6)), ("2", tenths, 10.0 ** -np.arange(6)), ("3", whole + delta, np.ones(6)),
                       ("4", whole + 100 * delta, np.ones(6)), ("5", whole + 10000 * delta, np.ones(6))):
        truth = np.array(fit(x, y, 5))
        check(f"NIST Wampler{name}: certified coefficients in 60 digits", [digits(truth[:6], b)], 1e-13, moved=False)
        ours = lines.ask("polynomial", [(x, y, [5])])[0]
        bare = name in "12"  # there is no residual: its standard errors are rounding
        check(f"NIST Wampler{name}, {'coefficients' if bare else 'all'}", [digits(ours[:6] if bare else ours, (truth[:6] if bare else truth))], nine)

    folder = pathlib.Path(scipy.__file__).parent / "stats/tests/data/nist_anova"
    # Those with 13 constant leading digits (SmLs07 to 09) lose them in the data: doubles cannot hold them.
    for name in ("SiRstv", "SmLs01", "SmLs02", "SmLs03", "AtmWtAg", "SmLs04", "SmLs05", "SmLs06"):
        text = (folder / f"{name}.dat").read_text(encoding="utf-8").splitlines()
        sd = next(float(line.split()[-1]) for line in text if line.strip().startswith("Standard Deviation"))
        within = next(float(line.split()[3]) for line in text if line.startswith("Within"))
        table = np.array([[float(v) for v in line.split()] for line in text[60:]])
        groups = [(table[:, 0] == g).astype(float) for g in np.unique(table[:, 0])]
        ours = lines.ask("regression", [(table[:, 1], *groups)])[0]
        check(f"NIST {name} (means of groups), certified sd and sum of squares", [digits(ours[-2:], [sd, within])], nine)

    ours = lines.ask("polynomial", [(a, b, [1]) for a, b in series])
    theirs = [stats.linregress(a, b) for a, b in series]
    check("lines, scipy", [off(o[:4], (t.intercept, t.slope, t.intercept_stderr, t.stderr)) for o, t in zip(ours, theirs)])
    cases = [(np.round(random.uniform(-3, 3, 25), 2), random.normal(size=25), int(random.integers(1, 5))) for _ in range(60)]
    ours = lines.ask("polynomial", [(a, b, [d]) for a, b, d in cases])
    check("polynomials to the fourth degree, 60 digits", [off(o, fit(a, b, d)) for o, (a, b, d) in zip(ours, cases)])
    cases = [(random.normal(size=30), [np.ones(30)] + [random.normal(size=30) for _ in range(3)]) for _ in range(100)]
    ours = lines.ask("regression", [(y, *c) for y, c in cases])
    theirs = [sm.OLS(y, np.column_stack(c)).fit() for y, c in cases]
    check("several columns, statsmodels", [off(o, [*t.params, *t.bse, t.mse_resid**0.5, t.ssr]) for o, t in zip(ours, theirs)])


def projection(v, tau2):
    w, one = np.diag(1 / (v + tau2)), np.ones((len(v), 1))
    return w, w - w @ one @ np.linalg.inv(one.T @ w @ one) @ one.T @ w


def restricted(y, v, tau2):
    """The restricted log-likelihood, but for a constant."""
    w, p = projection(v, tau2)
    return 0.5 * (np.linalg.slogdet(w)[1] - np.log(w.sum()) - y @ p @ y)


def hartung_knapp(y, v, tau2):
    w, p = projection(v, tau2)
    return w.sum(0) @ y / w.sum(), np.sqrt(y @ p @ y / ((len(y) - 1) * w.sum()))


def reml(y, v):
    """Mean and standard error of Hartung and Knapp at the variance between of largest restricted likelihood; as matrices have it."""
    def slope(tau2):
        _, p = projection(v, tau2)
        return -0.5 * (np.trace(p) - y @ p @ p @ y)

    grid = np.concatenate([[0], np.ptp(y) ** 2 * np.logspace(-8, 1, 150)])
    slopes = [slope(t) for t in grid]
    turns = [k for k in range(len(grid) - 1) if slopes[k] > 0 >= slopes[k + 1]]
    tops = [optimize.brentq(slope, grid[k], grid[k + 1], xtol=1e-15, rtol=1e-14) for k in turns]
    best = max([*tops, 0.0], key=lambda t: restricted(y, v, t))
    return *hartung_knapp(y, v, best), best


def effects(lines, random):
    def whole(y, v):
        mean, se, tau2 = reml(y, v)
        half, wide = stats.t.ppf(0.975, len(y) - 1) * se, stats.t.ppf(0.975, len(y) - 2) * np.sqrt(tau2 + se**2)
        return [mean, se, tau2, mean - half, mean + half, mean - wide, mean + wide]

    cases = []
    for _ in range(300):
        n = int(random.integers(3, 60))
        v = random.gamma(2, 0.3, n) + 0.01
        cases.append((random.normal(-0.5, random.choice([0, 0.2, 1.0, 3.0]), n) + random.normal(size=n) * np.sqrt(v), v))
    ours = lines.ask("random_effects", [(y, v, [0.95]) for y, v in cases])
    zero = sum(o[2] == 0 for o in ours)
    check(f"random effects, restricted likelihood in matrices ({zero} without variance between)", [off(o, whole(*c)) for o, c in zip(ours, cases)], 1e-7)

    folder = pathlib.Path(pymare.__file__).parent / "tests/data"
    with (folder / "metafor_small_sample.csv").open(encoding="utf-8") as file:
        small = list(csv.DictReader(file))
    found = json.loads((folder / "metafor_reference.json").read_text(encoding="utf-8"))
    theirs = [c for c in found["cases"] if (c["model"], c["method"], c["test"]) == ("intercept", "REML", "knha")]
    near, best, rest = [], [], []
    for c in theirs:
        y, v = (np.array([float(r[k]) for r in small if r["case"] == c["design"]]) for k in "yv")
        ours = lines.ask("random_effects", [(y, v, [0.95])])[0]
        printed = [*c["beta"], *c["se"], c["tau2"], *c["ci_lb"], *c["ci_ub"]]
        near.append(off(ours[:5], printed))
        best.append(max(0.0, restricted(y, v, c["tau2"]) - restricted(y, v, ours[2])))
        mean, se = hartung_knapp(y, v, c["tau2"])
        half = stats.t.ppf(0.975, len(y) - 1) * se
        rest.append(off([mean, se, mean - half, mean + half], printed[:2] + printed[3:]))
    name = f"metafor {found['source']['metafor_version']} on four designs, as printed in PyMARE's tests"
    check(f"random effects, {name} (whose steps stop at 1e-5)", near, 5e-6, least=20)
    check("likelihood of our variance between, no lower than at metafor's", [best], 1e-13, least=4)
    check(f"Hartung and Knapp in matrices at metafor's variance, {name}", rest, 5e-7, least=16, moved=False)

    trials = [[float(v) for k, v in r.items() if k != "trial"] for r in rows("bcg.csv")]
    a, b, c, d = np.array(trials).T
    y, v = np.log((a / (a + b)) / (c / (c + d))), 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)
    ours = lines.ask("random_effects", [(y, v, [0.95])])[0]
    plain = (1 / (v + ours[2])).sum() ** -0.5
    found = [ours[2], ours[0], plain, ours[0] - stats.norm.ppf(0.975) * plain, ours[0] + stats.norm.ppf(0.975) * plain]
    check("BCG trials, as printed (memory), four decimals", [np.array(found) - [0.3132, -0.7145, 0.1798, -1.0669, -0.3622]], 5.1e-5)
    check("BCG trials, restricted likelihood in matrices", [off(ours, whole(y, v))], 1e-7)
    peer = VarianceBasedLikelihoodEstimator(method="REML").fit_dataset(pymare.Dataset(y=y, v=v))
    check("BCG trials, PyMARE (which stops at 1e-6)", [off(ours[2], peer.summary().tau2.item()), off(ours[0], peer.summary().fe_params.item())], 5e-6)


RIDGE = 1e-6


def visit_series(random, count):
    """Visits of whole plans: baseline days, worked days with holes, one to three photographs."""
    for _ in range(count):
        end = int(random.choice([14, 21, 28, 28, 28, 56]))
        before = np.sort(random.choice(np.arange(-25, 1), int(random.integers(1, 9)), replace=False))
        worked = np.sort(random.choice(np.arange(1, end + 1), int(random.integers(1, 13)), replace=False))
        days = np.concatenate([before, worked]).astype(float)
        counts = random.integers(1, 4, len(days)).astype(float)
        ss = np.where(counts > 1, random.chisquare(np.maximum(counts - 1, 1)) * random.random() * 0.2, 0.0)
        level = random.uniform(-40, 60)
        means = level + random.normal(size=len(days)) * random.random() + np.where(days > 0, random.normal(), 0)
        sd, df, within = random.uniform(0.2, 2), float(random.choice([1, 2, 4])), random.uniform(0.05, 0.5)
        yield days, means, counts, ss, [end, sd, df, within, float(random.choice([0.05, 0.045, 0.005]))]


def model(constants, days, means, counts, ss, said):
    """The change as its formulas stand in `change.rs`, with plain inverses; and the same from statsmodels' GLS."""
    (rho, within_df), (end, s0, d0, prior_within, alpha) = constants[:2], said
    s2w = (ss.sum() + within_df * prior_within**2) / ((counts - 1).sum() + within_df)
    first = fitted(rho, days, means, counts, end, s2w, s0, s0, d0)
    b, mean, sigma, se, rss, nu, a, x, v, y = fitted(rho, days, means, counts, end, s2w, first[2], s0, d0)
    half = stats.t.ppf(1 - alpha / 2, d0 + nu) * se
    pooled = np.sqrt(rss / nu) if nu else np.nan
    change = b[1] - b[0]
    ours = [b[0] + mean, change, b[2] / end, se, sigma, d0 + nu, pooled, np.sqrt(s2w), change - half, change + half]
    # The ridge as three more observations of zero.
    wide = np.eye(len(y) + 3)
    wide[:-3, :-3] = v
    gls = sm.GLS(np.append(y, np.zeros(3)), np.vstack([x, np.sqrt(RIDGE) * np.eye(3)]), sigma=wide).fit().params
    return ours, [gls[0] + mean, gls[1] - gls[0], gls[2] / end]


def fitted(rho, days, means, counts, end, s2w, sd, s0, d0):
    """One pass, the scatter within visits held against `sd` between days."""
    worked = days >= 1
    x = np.column_stack([~worked, worked, np.where(worked, (days - (end - 3)) / end, 0)]).astype(float)
    v = rho ** np.abs(days[:, None] - days[None, :]) + np.diag(s2w / (counts * sd**2))
    y = means - means.mean()  # the ridge pulls toward the mean of all visits
    vi = np.linalg.inv(v)
    a = x.T @ vi @ x + RIDGE * np.eye(3)
    b = np.linalg.solve(a, x.T @ vi @ y)
    rss = (y - x @ b) @ vi @ (y - x @ b)
    nu = max(len(y) - 3, 0)
    sigma = np.sqrt((d0 * s0**2 + rss) / (d0 + nu))
    c = np.array([-1.0, 1, 0])
    se = sigma * np.sqrt(c @ np.linalg.inv(a) @ c)
    return b, means.mean(), sigma, se, rss, nu, a, x, v, y


def changes(lines, constants, random, count):
    series = list(visit_series(random, count))
    ours = lines.ask("change", series)
    theirs = [model(constants, *s) for s in series]
    known = [k for k, t in enumerate(theirs) if np.isfinite(t[0][6])]
    check("change, its interval and noise, numpy", [off(ours[k], theirs[k][0]) for k in known], least=9 * count // 10)
    rest = [k for k in range(count) if k not in set(known)]
    check("the same with three visits or fewer", [off(np.delete(ours[k], 6), np.delete(theirs[k][0], 6)) for k in rest])
    check("base, change and slope, statsmodels GLS", [off(o[:3], t[1]) for o, t in zip(ours, theirs)])


def trend(constants, days, means, counts, ss, said):
    """The trend as `trend.rs` describes it, and the variance of Kendall's S over that by all pairs of pairs."""
    (rho, within_df), (end, s0, d0, prior_within) = constants[:2], said
    keep = (days >= 1) & (days <= end)
    t, y, counts, ss = days[keep], means[keep], counts[keep], ss[keep]
    n = len(t)
    if n < 5:
        return NAN, None
    s2w = (ss.sum() + within_df * prior_within**2) / ((counts - 1).sum() + within_df)
    v = rho ** np.abs(t[:, None] - t[None, :]) + np.diag(s2w / (counts * s0**2))
    i, j = np.triu_indices(n, 1)
    d = np.zeros((len(i), n))
    d[np.arange(len(i)), j], d[np.arange(len(i)), i] = 1, -1
    cov = d @ v @ d.T
    sd = np.sqrt(np.diag(cov))
    variance = 2 / np.pi * (cov / np.outer(sd, sd)).sum() * np.pi / 6 * (2 * n + 5) / (n + 1)
    exact = 2 / np.pi * np.arcsin(np.clip(cov / np.outer(sd, sd), -1, 1)).sum()
    slopes = np.sort((y[j] - y[i]) / (t[j] - t[i]))
    slope, pairs, reach = np.median(slopes), len(slopes), stats.norm.ppf(0.975) * np.sqrt(variance)
    low = slopes[max(int(np.round((pairs - reach) / 2)) - 1, 0)]
    high = slopes[min(int(np.round((pairs + reach) / 2)), pairs - 1)]
    if reach > pairs - 2:
        x = np.column_stack([np.ones(n), t])
        vi = np.linalg.inv(v)
        b = np.linalg.solve(x.T @ vi @ x, x.T @ vi @ y)
        sigma = np.sqrt((d0 * s0**2 + (y - x @ b) @ vi @ (y - x @ b)) / (d0 + n - 2))
        half = stats.t.ppf(0.975, d0 + n - 2) * sigma * np.sqrt(variance) / ((t[j] - t[i]) / sd * np.sqrt(2 / np.pi)).sum()
        low, high = min(low, slope - half), max(high, slope + half)
    return [slope, low, high], variance / exact


def trends(lines, constants, random, count, runs):
    series = [(*s[:4], s[4][:4]) for s in visit_series(random, count)]
    theirs = [trend(constants, *s) for s in series]
    check("trend and its interval, numpy", [off(o, t[0]) for o, t in zip(lines.ask("trend", series), theirs)], least=count)
    ratio = np.array([r for _, r in theirs if r])
    # The first order with its correction for untied days may be off the exact variance by so much.
    print(f"       variance of Kendall's S: {ratio.min():.3f} to {ratio.max():.3f} of the sum over all pairs of pairs")
    check("variance of Kendall's S, all pairs of pairs", [np.where(ratio < 1, (1 - ratio) / 0.02, (ratio - 1) / 0.08)], 1.0, moved=False)

    least, all_shares = 100.0, []
    for missing in (0.0, 0.3):
        for rho in (0.0, 0.3, 0.6):
            for sd in (0.3, 0.6, 1.0):
                share, untied = covered(lines, constants, random, runs, rho, sd, missing)
                all_shares.append(share)
                least = min(least, share)
                print(f"       trend covers {share:.1f} % (Sen's own interval {untied:.1f}): rho {rho}, SD {sd}, {missing:.0%} missing")
    # The strongest tie on days that are harder: neighbours, few, far apart, daily.
    for name, days in (("days 1 to 5", range(1, 6)), ("days 1 to 4 and 28", (1, 2, 3, 4, 28)), ("days 1, 2, 15, 27, 28", (1, 2, 15, 27, 28)),
                       ("daily", range(1, 29)), ("once a week", (1, 8, 15, 22, 28))):
        share, untied = covered(lines, constants, random, runs, 0.6, 1.0, 0.0, days)
        all_shares.append(share)
        least = min(least, share)
        print(f"       trend covers {share:.1f} % (Sen's own interval {untied:.1f}): rho 0.6, SD 1.0, {name}")
    check(f"coverage of the trend's interval, {runs} runs a cell: least {least:.1f} %, mean {np.mean(all_shares):.1f} %", [max(0.0, 95 - least)], 0.4, moved=False)


def covered(lines, constants, random, runs, rho, sd, missing, days=tuple(range(1, 29, 3)), slope=0.07, end=28):
    """In how many of a hundred drawn plans (two photographs a visit; the usual days unless said otherwise) the trend's interval holds the true slope, and Sen's own."""
    days = np.array(days, float)
    tie = np.linalg.cholesky(rho ** np.abs(days[:, None] - days[None, :])) if rho else np.eye(len(days))
    series = []
    for _ in range(runs):
        photos = slope * days[:, None] + (sd * (tie @ random.normal(size=len(days))))[:, None] + random.normal(0, 0.25, (len(days), 2))
        keep = random.random(len(days)) >= missing
        if keep.sum() >= 5:
            means = photos.mean(1)
            ss = ((photos - means[:, None]) ** 2).sum(1)
            series.append((days[keep], means[keep], np.full(keep.sum(), 2.0), ss[keep], [end, *constants[2:]]))
    ours = np.array(lines.ask("trend", series))[:, 1:]
    untied = np.array(lines.ask("theil_sen", [(s[0], s[1], [0.95]) for s in series]))[:, 2:]
    return [100 * np.mean((i[:, 0] <= slope) & (slope <= i[:, 1])) for i in (ours, untied)]


def worked(lines):
    for r in rows("worked_examples.csv"):
        ours = lines.ask(r["method"], [[[float(v) for v in g.split()] for g in r["input"].split(";")]])[0]
        wanted = [float(v) for v in r["expected"].split()]
        name = f"{r['method']}: {r['mark']}"
        check(name, [np.array(ours)[-len(wanted):] - wanted], 0.51 * 10.0 ** -int(r["digits"]))
    problems, limits = [], []
    for r in rows("wilcoxon_critical.csv"):
        n = int(r["n"])
        for key, alpha in (("a05", 0.05), ("a02", 0.02), ("a01", 0.01)):
            if key in r and r[key] is not None:
                most = int(r[key]) if r[key] else -1
                problems += [[signed(n, t)] for t in (most, most + 1) if t >= 0]
                limits += [(t == most, alpha) for t in (most, most + 1) if t >= 0]
    p = np.array([a[3] for a in lines.ask("wilcoxon", problems)])
    wrong = [float((v <= alpha) != inside) for v, (inside, alpha) in zip(p, limits)]
    check("critical values of Wilcoxon's T, n 5 to 30, computed table", [wrong], 0.0, least=100)


def signed(n, total):
    """Ranks 1 to n of which those below zero add up to `total`."""
    values = np.arange(1.0, n + 1)
    for rank in range(n, 0, -1):
        if rank <= total:
            values[rank - 1], total = -rank, total - rank
    return values


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lines", required=True)
    parser.add_argument("--count", type=int, default=1000, help="random series")
    parser.add_argument("--runs", type=int, default=2000, help="simulated plans a cell, for the coverage of the trend")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--selftest", action="store_true")
    args = parser.parse_args()
    global NUDGE, passed, failed
    random, lines = np.random.default_rng(args.seed), Lines(args.lines)
    print(f"scipy {scipy.__version__}, statsmodels {statsmodels.__version__}, numpy {np.__version__}, PyMARE {pymare.__version__}")
    warnings.simplefilter("ignore")  # of short samples, above all
    constants = lines.ask("constants", [[[]]])[0]
    print("ties {}, weight of the scatter within visits {}, stated prior {} worth {}, within {}".format(*constants))
    NUDGE = 0.05 if args.selftest else 0.0
    series = list(random_series(random, args.count))
    distributions(lines, random, args.count)
    ranks(lines, series)
    differences(lines, random, series)
    regressions(lines, random, series)
    effects(lines, random)
    changes(lines, constants, random, args.count)
    trends(lines, constants, random, args.count, args.runs)
    worked(lines)
    if args.selftest:
        print(f"self-test: of {passed + failed} checks {failed} saw that the answers were off")
        passed, failed = failed, passed
    print(f"{passed} passed, {failed} failed")
    return failed != 0


if __name__ == "__main__":
    raise SystemExit(main())
