"""Many clients followed, here and in pandas with statsmodels; started by bench/follow.

The peer is what a Python user would write for the same: pandas reads the file and goes through its clients; statsmodels fits each by
generalised least squares (twice, as the change does), scipy gives the interval and Theil-Sen's slope with Sen's own interval (not the
one for tied days, which costs us more), and the group's restricted likelihood is maximised on whole arrays by scipy. The answers of
both must agree before times are compared. Whole processes, taking turns; medians are judged.
"""

import argparse
import os
import pathlib
import platform
import statistics
import subprocess
import sys
import tempfile
import time

# The peer does without the ridge of 1e-6 that keeps visits of one day from being undetermined: answers may differ by so much.
BAR, AGREE = 20.0, 2e-5
# As crates/follow has them (the answers would differ): ties; of what somebody says, sd between days, its weight, sd within a visit.
RHO, PRIOR = 0.65, (1.5, 1.0, 0.25)
END = 28


def peer(path, each):
    import numpy as np
    import pandas as pd
    import statsmodels.api as sm
    from scipy import optimize, stats

    sd0, df0, within = PRIOR
    table = pd.read_csv(path)
    changes, lines = [], []
    for client, rows in table.groupby("client", sort=False):
        days, y = rows["day"].to_numpy(), rows["value"].to_numpy()
        worked = days >= 1
        x = np.column_stack([~worked, worked, np.where(worked, (days - (END - 3)) / END, 0)]).astype(float)
        tie, middle, sigma = RHO ** np.abs(days[:, None] - days[None, :]), y.mean(), sd0
        for _ in range(2):
            cov = tie + np.eye(len(days)) * (within**2 / sigma**2)
            fit = sm.GLS(y - middle, x, sigma=cov).fit()
            b, nu = fit.params, len(y) - 3
            sigma = np.sqrt((df0 * sd0**2 + fit.ssr) / (df0 + nu))
        c = np.array([-1.0, 1, 0])
        se = sigma * np.sqrt(c @ fit.normalized_cov_params @ c)
        half = stats.t.ppf(0.975, df0 + nu) * se
        slope = stats.theilslopes(y[worked], days[worked]).slope
        changes.append((c @ b, se, half))
        if each:
            lines.append(f"{client} {c @ b} {c @ b - half} {c @ b + half} {slope}")
    d, se, half = np.array(changes).T
    noise = (se**2).mean()
    v = 0.5 * (se**2 + noise)

    def score(tau2):
        w = 1 / (v + tau2)
        mean = (w * d).sum() / w.sum()
        return (w**2 * (d - mean) ** 2).sum() - w.sum() + (w**2).sum() / w.sum()

    tau2 = optimize.brentq(score, 0, np.ptp(d) ** 2, xtol=1e-13) if score(0) > 0 else 0.0
    w = 1 / (v + tau2)
    mean = (w * d).sum() / w.sum()
    hk = np.sqrt((w * (d - mean) ** 2).sum() / (len(d) - 1) / w.sum())
    near, far = stats.t.ppf(0.975, len(d) - 1) * hk, stats.t.ppf(0.975, len(d) - 2) * np.sqrt(tau2 + noise + hk**2)
    print("\n".join([*lines, f"group {mean} {mean - near} {mean + near} {np.sqrt(tau2)} {mean - far} {mean + far} "
                             f"{(d + half < 0).sum()} {(d - half > 0).sum()}"]))


def make(path, clients):
    """Clients who say a number a day: five baseline days and four weeks, tied days, true changes of 1 on average."""
    import numpy as np

    random = np.random.default_rng(1)
    days = np.arange(-4, END + 1)
    tie = np.linalg.cholesky(0.4 ** np.abs(days[:, None] - days[None, :]))
    with open(path, "w", encoding="utf-8") as file:
        file.write("client,day,value\n")
        for client in range(1, clients + 1):
            noise = random.uniform(0.4, 1.6) * (tie @ random.normal(size=len(days)))
            said = 5 + random.normal() + noise + np.where(days > 0, random.normal(1, 0.7) * np.minimum(days, END) / END, 0)
            for day, value in zip(days, np.clip(np.round(said * 2) / 2, 0, 10)):
                file.write(f"{client},{day},{value}\n")


def run(command):
    began = time.perf_counter()
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return time.perf_counter() - began, [[float(v) for v in line.replace("group", "0").split()] for line in done.stdout.splitlines()], done.stderr


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--peer", type=pathlib.Path, help="be the peer, on this file")
    parser.add_argument("--each", action="store_true", help="every client's numbers")
    parser.add_argument("--ours", type=pathlib.Path, help="the example `group` of crate `follow`")
    parser.add_argument("--clients", type=int, default=5000)
    parser.add_argument("--runs", type=int, default=5)
    args = parser.parse_args()
    if args.peer:
        peer(args.peer, args.each)
        return 0
    import numpy
    import pandas
    import statsmodels
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.2f}, pandas {pandas.__version__}, "
          f"statsmodels {statsmodels.__version__}, numpy {numpy.__version__}")
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "series.csv"
        make(path, args.clients)
        commands = {"ours": [str(args.ours), str(path)], "peer": [sys.executable, __file__, "--peer", str(path)]}
        answers = {name: run([*command, "--each"])[1] for name, command in commands.items()}
        off = max(abs(a - b) for o, p in zip(answers["ours"], answers["peer"], strict=True) for a, b in zip(o, p, strict=True))
        print(f"{len(answers['ours']) - 1} clients: answers differ by {off:.2g} at most (bar {AGREE:g})")
        times = {"ours": [], "peer": []}
        for _ in range(args.runs):
            for name, command in commands.items():
                times[name].append(run(command)[0])
        said = run(commands["ours"])[2].strip()
    ours, theirs = (statistics.median(times[k]) for k in ("ours", "peer"))
    print(f"{args.clients} clients x {END + 5} days, whole process, median of {args.runs}: ours {ours * 1e3:.0f} ms, peer {theirs * 1e3:.0f} ms")
    print(f"ratio of medians {theirs / ours:.1f} (bar {BAR:g}): {'held' if theirs / ours >= BAR else 'missed'}; within ours: {said}")
    return 0 if off <= AGREE else 1


if __name__ == "__main__":
    raise SystemExit(main())
