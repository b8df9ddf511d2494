"""Compares the planner's answers with the peer's on a folder of instances, and judges them by the bars.

    python tests/oracle/compare.py FOLDER [--ties N] [--report OUT.json]

Each file of the folder is an instance with the planner's own answer under `answer`: `null`, or gain, total_s, proven,
solve_us and steps, each `[movement, target, side, technique, tool, seconds]`. The bars are those of docs/validation.md; one that fails makes the exit code 1.
"""

import argparse
import json
import pathlib
import statistics
import sys

from instance import check, smaller, steps_of, total_s
from peer import solve, twins

FEASIBLE_SHARE = 0.90
SPEED_RATIO = 20.0
SIZE_FOR_SPEED = 60
MEDIAN_MS, P99_MS = 50.0, 250.0


def quantile(values, q):
    """The smallest value that at least a share q of the values does not exceed."""
    values = sorted(values)
    return values[max(0, -int(-q * len(values) // 1) - 1)]


def candidates(instance):
    """Targets with technique and tool, a pair once."""
    return sum(len({(o["technique"], o["tool"]) for o in item["options"]}) for item in instance["items"])


STEP_KEYS = ("movement", "target", "side", "technique", "tool", "seconds")


def answered(raw):
    """The planner's answer with its steps as tables; `None` if it has none."""
    if raw is None or not raw["steps"]:
        return None
    return {**raw, "steps": [dict(zip(STEP_KEYS, step, strict=True)) for step in raw["steps"]]}


def shown(steps):
    """What identifies a step list, for comparing it with another solver's."""
    return [tuple(step[key] for key in STEP_KEYS) for step in steps]


def choice_of(instance, answer):
    """Which options the planner's work steps are; None if they are not options of the instance."""
    work = {}
    for step in answer["steps"]:
        if step["movement"] == "work":
            work.setdefault(step["target"], []).append(step)
    choice = {}
    for i, item in enumerate(instance["items"]):
        for o, option in enumerate(item["options"]):
            wanted = sorted(("work", item["target"], s["side"], option["technique"], option["tool"], s["seconds"])
                            for s in option["steps"])
            have = sorted(shown(work.get(item["target"], [])))
            sides = {s["side"] for s in option["steps"]}
            if wanted == [h for h in have if h[2] in sides]:
                if i not in choice or len(option["steps"]) > len(item["options"][choice[i]]["steps"]):
                    choice[i] = o
    return choice


def judge(instance, answer, peer):
    """What is wrong with the planner's answer, in words; empty if nothing is."""
    if answer is None:
        return [] if peer["none"] else [f"no routine, but the peer has one with gain {peer['gain']}"]
    if peer["none"]:
        return ["a routine, but the peer has none"]
    wrong = [] if answer["proven"] else ["not proven best"]
    if answer["gain"] != peer["gain"]:
        wrong.append(f"gain {answer['gain']}, the peer's {peer['gain']}")
    elif answer["total_s"] != peer["total_s"]:
        wrong.append(f"{answer['total_s']} s, the peer's {peer['total_s']} s")
    choice = choice_of(instance, answer)
    steps = steps_of(instance, choice)
    if shown(steps) != shown(answer["steps"]):
        wrong.append("its steps are not those of the model for what it chose")
    elif (sum(s["gain"] for s in steps), total_s(instance, steps)) != (answer["gain"], answer["total_s"]):
        wrong.append("its gain or seconds are not those of its steps")
    return wrong


def judge_tie(instance, answer, peer):
    """Whether the answer is the smallest of all best step lists: True, False, or None when they are too many."""
    found = twins(instance, peer["gain"], peer["total_s"])
    if found is None:
        return None, 0
    lists = [steps_of(instance, choice) for choice in found]
    least = lists[0]
    for steps in lists[1:]:
        if smaller(steps, least):
            least = steps
    return shown(least) == shown(answer["steps"]), len(found)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=pathlib.Path)
    parser.add_argument("--ties", type=int, default=0, help="check the tie rule on so many instances")
    parser.add_argument("--report", type=pathlib.Path)
    args = parser.parse_args()
    files = sorted(args.folder.glob("*.json"))
    if not files:
        print(f"{args.folder}: no instance (*.json) in it", file=sys.stderr)
        return 2

    wrong, peer_ms, gain_ms, own_ms, large_ms, sizes = [], [], [], [], [], []
    feasible = ties_right = ties_open = ties_seen = twin_count = 0
    for n, path in enumerate(files):
        raw = json.loads(path.read_text(encoding="utf-8"))
        instance, answer = check(raw, path.name), answered(raw["answer"])
        peer = solve(instance)
        if not peer["proven"]:
            wrong.append((path.name, "the peer proved nothing"))
            continue
        feasible += not peer["none"]
        said = judge(instance, answer, peer)
        wrong += [(path.name, text) for text in said]
        sizes.append(candidates(instance))
        peer_ms.append(peer["solve_s"] * 1000)
        gain_ms.append(peer["gain_s"] * 1000)
        if answer is not None:
            own_ms.append(answer["solve_us"] / 1000)
            if sizes[-1] >= SIZE_FOR_SPEED:
                large_ms.append(own_ms[-1])
        if ties_seen < args.ties and not peer["none"] and not said:
            right, count = judge_tie(instance, answer, peer)
            ties_seen += 1
            ties_open += right is None
            ties_right += right is True
            twin_count += count > 1
            if right is False:
                wrong.append((path.name, "not the smallest step list among equals"))
        if (n + 1) % 50 == 0:
            print(f"  {n + 1} of {len(files)}", file=sys.stderr, flush=True)

    report = {
        "instances": len(files), "wrong": len({name for name, _ in wrong}), "feasible_share": feasible / len(files),
        "candidates_median": statistics.median(sizes or [0]), "candidates_most": max(sizes, default=0),
        "peer_median_ms": statistics.median(peer_ms or [0]), "peer_p99_ms": quantile(peer_ms or [0], 0.99),
        "peer_gain_only_median_ms": statistics.median(gain_ms or [0]),
        "planner_median_ms": statistics.median(own_ms or [0]), "planner_p99_ms": quantile(own_ms or [0], 0.99),
        "large": len(large_ms), "large_median_ms": statistics.median(large_ms or [0]),
        "large_p99_ms": quantile(large_ms or [0], 0.99),
        "ties_checked": ties_seen, "ties_with_twins": twin_count, "ties_right": ties_right, "ties_undecided": ties_open,
    }
    report["ratio_of_medians"] = report["peer_median_ms"] / max(report["planner_median_ms"], 1e-6)
    report["ratio_gain_only"] = report["peer_gain_only_median_ms"] / max(report["planner_median_ms"], 1e-6)
    bars = [
        ("equal gain, equal seconds, steps of the model, ties", not wrong,
         f"{len({name for name, _ in wrong})} of {len(files)} differ"),
        (f"share with a routine at least {FEASIBLE_SHARE:.0%}", report["feasible_share"] >= FEASIBLE_SHARE,
         f"{report['feasible_share']:.1%}"),
        (f"peer's median over the planner's at least {SPEED_RATIO:.0f}", report["ratio_of_medians"] >= SPEED_RATIO,
         f"{report['ratio_of_medians']:.1f} ({report['peer_median_ms']:.1f} ms over "
         f"{report['planner_median_ms']:.2f} ms; gain alone {report['ratio_gain_only']:.1f})"),
        (f"{SIZE_FOR_SPEED} candidates and more: median under {MEDIAN_MS:.0f} ms, p99 under {P99_MS:.0f} ms",
         bool(large_ms) and report["large_median_ms"] < MEDIAN_MS and report["large_p99_ms"] < P99_MS,
         f"{report['large_median_ms']:.2f} ms, {report['large_p99_ms']:.2f} ms of {len(large_ms)}"),
    ]
    for name, text in wrong[:20]:
        print(f"{name}: {text}")
    print(f"candidates: median {report['candidates_median']:.0f}, most {report['candidates_most']}; "
          f"peer p99 {report['peer_p99_ms']:.0f} ms, planner p99 {report['planner_p99_ms']:.2f} ms")
    if args.ties:
        print(f"tie rule: {ties_right} of {ties_seen} right, {twin_count} had twins, {ties_open} had too many to list")
    for text, held, figure in bars:
        print(f"{'held' if held else 'FAILED'}: {text}: {figure}")
    if args.report:
        args.report.parent.mkdir(parents=True, exist_ok=True)
        args.report.write_text(json.dumps(report, indent=1) + "\n", encoding="utf-8")
    return 0 if all(held for _, held, _ in bars) else 1


if __name__ == "__main__":
    sys.exit(main())
