"""The oracle tested against itself: CP-SAT and trying every choice must agree on small invented instances."""

import argparse
import sys

from brute import best
from instance import BadInstance, check, smaller, steps_of, total_s
from invented import invent
from peer import solve, twins


def by_hand():
    """One instance whose seconds are added up by hand, so that the shared evaluator is not taken on trust."""
    stroke = {"technique": "stroke", "technique_order": 1, "tool": "edge", "tool_order": 1,
              "pressure": "featherlight", "seconds": 15}
    rest = {**stroke, "technique": "rest", "technique_order": 2, "seconds": 5}
    ways = [["neck", "left"], ["outlet", "left"], ["neck", "right"], ["outlet", "right"]]
    option = {"technique": "hold", "technique_order": 0, "tool": "hands", "tool_order": 0, "needs_oil": True,
              "seconds": 10, "steps": [{"side": s, "pressure": "light", "seconds": 10, "gain": 500}
                                       for s in ("left", "right")],
              "ways": ways, "counts": [["jaw", "left"], ["jaw", "right"]]}
    instance = {
        "format": "tragion-instance-1", "minutes": 4, "budget_s": 240, "side_mode": "target_by_target",
        "transitions": {"tool_s": 5, "side_s": 3, "zone_s": 2}, "targets_per_zone_side": 4,
        "oil": {"seconds": 20, "tool": "hands", "tool_order": 0, "done": False},
        "places": [{"zone": z, "side": s, "depth": d, "open": None if (z, s) == ("neck", "right") else stroke,
                    "close": rest} for z, d in (("outlet", 0), ("neck", 1)) for s in ("left", "right")],
        "items": [{"target": "jaw", "zone": "jaw", "zone_rank": 1, "target_rank": 1, "sides": "pair",
                   "required": False, "options": [option]}]}
    # target by target: outlet left 15, +3, outlet right 15, +3+2, neck left 15, +5 (tool; the oil has no zone and no
    # side), oil 20, +0, jaw left 10, +3, jaw right 10, +5+3+2, neck left 5, +2, outlet left 5, +3, outlet right 5
    expected = 15 + 3 + 15 + 5 + 15 + 5 + 20 + 0 + 10 + 3 + 10 + 10 + 5 + 2 + 5 + 3 + 5
    steps = steps_of(check(instance), {0: 0})
    assert total_s(instance, steps) == expected, (total_s(instance, steps), expected)
    answer = solve(instance)
    assert (answer["gain"], answer["total_s"]) == (1000, expected), answer
    # side by side: outlet left, +2, neck left, +3+2, outlet right, +5, oil, jaw left, +3, jaw right,
    # then closing neck left: +5+3+2, +2 outlet left, +3 outlet right
    instance["side_mode"] = "side_by_side"
    expected = 15 + 2 + 15 + 5 + 15 + 5 + 20 + 10 + 3 + 10 + 10 + 5 + 2 + 5 + 3 + 5
    assert solve(instance)["total_s"] == expected, (solve(instance)["total_s"], expected)
    instance["minutes"], instance["budget_s"] = 2, 120
    assert solve(instance)["none"], "one second over the budget must not fit"
    # A tie is broken by target, side, technique, tool, seconds; a prefix is smaller.
    one = dict(steps[4])
    for key, value in (("target", "jaz"), ("side", "right"), ("technique_order", 9), ("tool_order", 9), ("seconds", 99)):
        other = dict(one)
        other[key] = value
        assert smaller([one], [other]) and not smaller([other], [one]), key
    assert smaller([one], [one, one]) and not smaller([one], [one])
    for change in (lambda i: i.update(format="other"), lambda i: i.update(budget_s=1),
                   lambda i: i["items"][0]["options"][0]["ways"].append(["nowhere", "left"])):
        bad = {**instance, "items": [{**instance["items"][0], "options": [{**option, "ways": list(ways)}]}]}
        change(bad)
        try:
            check(bad)
        except BadInstance:
            continue
        raise AssertionError("a bad instance was taken")


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    by_hand()
    none = failed = tied = 0
    for seed in range(args.seed, args.seed + args.count):
        instance = check(invent(seed))
        tried, asked = best(instance), solve(instance)
        none += tried is None
        same = (tried is None) == asked["none"] and asked["proven"]
        if same and tried is not None:
            same = (tried["gain"], tried["total_s"]) == (asked["gain"], asked["total_s"])
            lists = [steps_of(instance, choice) for choice in twins(instance, tried["gain"], tried["total_s"])]
            tied += len(lists) > 1
            same = same and all(lst == tried["steps"] or smaller(tried["steps"], lst) for lst in lists)
            same = same and tried["steps"] in lists
        if not same:
            failed += 1
            print(f"seed {seed}: trying all gives {tried and (tried['gain'], tried['total_s'])}, "
                  f"CP-SAT {asked.get('gain'), asked.get('total_s')}")
    print(f"oracle against itself: {args.count} instances, {none} without a routine, {tied} with twins, {failed} differ")
    return 1 if failed or none == args.count or not tied else 0


if __name__ == "__main__":
    sys.exit(main())
