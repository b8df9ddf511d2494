"""Reads an instance of the planning model and says what a choice amounts to: its steps, gain and seconds.

Written from the model's words (ARCHITECTURE.md, "The planning model") and from the instance's format alone; it
shares nothing with the planner. Every number in an instance is final.
"""

import json

SIDE_ORDER = {"left": 0, "right": 1, "midline": 2, "both": 3}
FORMAT = "tragion-instance-1"


class BadInstance(Exception):
    """The file is not an instance that can be judged."""


def load(path):
    with open(path, encoding="utf-8") as file:
        return check(json.load(file), str(path))


def check(instance, name="instance"):
    """Refuses what the format does not allow, so that a wrong file can't pass as an easy one."""

    def need(condition, message):
        if not condition:
            raise BadInstance(f"{name}: {message}")

    need(instance.get("format") == FORMAT, f"format is {instance.get('format')!r}, not {FORMAT!r}")
    need(instance["budget_s"] == instance["minutes"] * 60, "budget_s is not minutes x 60")
    need(instance["side_mode"] in ("target_by_target", "side_by_side"), "side_mode is unknown")
    known = set()
    for place in instance["places"]:
        key = (place["zone"], place["side"])
        need(key not in known, f"place {key} stands twice")
        need(place["side"] in ("left", "right", "midline"), f"place {key} has no such side")
        known.add(key)
    seen_sides = set()
    for item in instance["items"]:
        need(item["options"], f"item {item['target']} has no option")
        for option in item["options"]:
            steps = option["steps"]
            sides = [step["side"] for step in steps]
            need(sides in (["left", "right"], ["left"], ["right"], ["midline"], ["both"]),
                 f"item {item['target']} has an option with sides {sides}")
            need(all(step["seconds"] == option["seconds"] for step in steps),
                 f"item {item['target']}: seconds of a step differ from those of its option")
            for way in option["ways"]:
                need(tuple(way) in known, f"item {item['target']}: way {way} is no place")
        for side in {step["side"] for option in item["options"] for step in option["steps"]}:
            need((item["target"], side) not in seen_sides, f"target {item['target']} {side} stands in two items")
            seen_sides.add((item["target"], side))
    return instance


def place_key(way):
    return (way[0], way[1])


def opened_places(instance, chosen):
    """The places of the ways of the chosen options that clearance lets be opened, as place rows."""
    wanted = {place_key(way) for option in chosen.values() for way in option["ways"]}
    return [p for p in instance["places"] if (p["zone"], p["side"]) in wanted and p["open"] is not None]


def steps_of(instance, choice):
    """The whole step list of a choice {item index: option index}, in the order of the routine."""
    chosen = {i: instance["items"][i]["options"][o] for i, o in choice.items()}
    by_side = instance["side_mode"] == "side_by_side"
    opened = opened_places(instance, chosen)

    def opening_key(place):
        in_depth = (place["depth"], place["zone"].encode())
        side = SIDE_ORDER[place["side"]]
        return (side, in_depth) if by_side else (in_depth, side)

    def closing_key(place):
        inward = (-place["depth"], place["zone"].encode())
        side = SIDE_ORDER[place["side"]]
        if by_side:
            return (0 if place["side"] == "midline" else 1 + side, inward)
        return (inward, side)

    def place_step(movement, place):
        what = place[movement]
        return {
            "movement": movement, "target": place["zone"], "zone": place["zone"], "side": place["side"],
            "technique": what["technique"], "tool": what["tool"], "pressure": what["pressure"],
            "seconds": what["seconds"], "gain": 0,
            "technique_order": what["technique_order"], "tool_order": what["tool_order"],
        }

    steps = [place_step("open", p) for p in sorted(opened, key=opening_key)]
    oil = instance["oil"]
    if not oil["done"] and any(option["needs_oil"] for option in chosen.values()):
        steps.append({
            "movement": "prepare", "target": "oil", "zone": None, "side": "midline", "technique": "spread",
            "tool": oil["tool"], "pressure": "featherlight", "seconds": oil["seconds"], "gain": 0,
            "technique_order": 0, "tool_order": oil["tool_order"],
        })

    work = []
    for i, option in chosen.items():
        item = instance["items"][i]
        for step in option["steps"]:
            rank = (item["zone_rank"], item["target_rank"], item["target"].encode())
            third = {"left": 0, "right": 1}.get(step["side"], 2)
            key = (third, rank, SIDE_ORDER[step["side"]]) if by_side else (rank, SIDE_ORDER[step["side"]])
            work.append((key, {
                "movement": "work", "target": item["target"], "zone": item["zone"], "side": step["side"],
                "technique": option["technique"], "tool": option["tool"], "pressure": step["pressure"],
                "seconds": step["seconds"], "gain": step["gain"],
                "technique_order": option["technique_order"], "tool_order": option["tool_order"],
            }))
    steps += [step for _, step in sorted(work, key=lambda pair: pair[0])]
    closed = [p for p in opened if p["close"] is not None]
    steps += [place_step("close", p) for p in sorted(closed, key=closing_key)]
    return steps


def transition_s(instance, a, b):
    """Seconds between two neighbouring steps."""
    cost = instance["transitions"]
    seconds = cost["tool_s"] if a["tool"] != b["tool"] else 0
    oil = a["zone"] is None or b["zone"] is None
    if not oil and {a["side"], b["side"]} == {"left", "right"}:
        seconds += cost["side_s"]
    if not oil and a["zone"] != b["zone"]:
        seconds += cost["zone_s"]
    return seconds


def total_s(instance, steps):
    return sum(s["seconds"] for s in steps) + sum(transition_s(instance, a, b) for a, b in zip(steps, steps[1:]))


def zones_fit(instance, choice):
    """No more targets of a zone on one side than allowed."""
    count = {}
    for i, o in choice.items():
        for zone, side in instance["items"][i]["options"][o]["counts"]:
            count[(zone, side)] = count.get((zone, side), 0) + 1
    return all(n <= instance["targets_per_zone_side"] for n in count.values())


def required_in(instance, choice):
    return all(i in choice for i, item in enumerate(instance["items"]) if item["required"])


def tie_key(step):
    """The rule for ties: target by bytes, side, technique and tool by data order, seconds."""
    return (step["target"].encode(), SIDE_ORDER[step["side"]], step["technique_order"], step["tool_order"],
            step["seconds"])


def smaller(a, b):
    """Whether step list a comes before step list b; a prefix is smaller."""
    return [tie_key(step) for step in a] < [tie_key(step) for step in b]
