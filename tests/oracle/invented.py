"""Invented instances for testing the oracle itself: a small tree of zones, a few targets, no meaning."""

import random

TECHNIQUES = ["hold", "circles", "glide", "press"]
TOOLS = ["hands", "edge", "roller"]


def invent(seed, zones=4, items=4, seconds=(10, 15), budget_minutes=(2, 4), paired=0.6):
    r = random.Random(seed)
    tree = {}
    names = [f"z{chr(97 + n)}" for n in range(zones)]
    r.shuffle(names)
    for n, name in enumerate(names):
        parent = r.choice(names[:n]) if n else None
        midline = n > 0 and r.random() < 0.25
        tree[name] = {"parent": parent, "sides": ["midline"] if midline else ["left", "right"],
                      "depth": 0 if parent is None else tree[parent]["depth"] + 1, "rank": 0}
    for rank, name in enumerate(r.sample(names, len(names))):
        tree[name]["rank"] = rank

    def way(zone, side):
        out, front = set(), [(zone, side)]
        while front:
            z, s = front.pop()
            up = tree[z]["parent"]
            if up is None:
                continue
            if tree[up]["sides"] == ["midline"]:
                sides = ["midline"]
            else:
                sides = [s] if s in ("left", "right") else ["left", "right"]
            for t in sides:
                if (up, t) not in out:
                    out.add((up, t))
                    front.append((up, t))
        return out

    def touch(seconds_choice):
        technique = r.choice(TECHNIQUES)
        return {"technique": technique, "technique_order": TECHNIQUES.index(technique), "tool": None,
                "tool_order": None, "pressure": "featherlight", "seconds": r.choice(seconds_choice)}

    places = []
    for name in names:
        for side in tree[name]["sides"]:
            tool = r.choice(TOOLS[:2])
            opening, closing = touch([10, 15]), touch([5])
            for step in (opening, closing):
                step["tool"], step["tool_order"] = tool, TOOLS.index(tool)
            places.append({"zone": name, "side": side, "depth": tree[name]["depth"],
                           "open": None if r.random() < 0.12 else opening,
                           "close": None if r.random() < 0.05 else closing})
    rows = []
    for n in range(items):
        zone = r.choice(names)
        target = f"t{r.randrange(10, 99)}_{n}" if r.random() < 0.8 or zone in [i["target"] for i in rows] else zone
        lateral = tree[zone]["sides"] != ["midline"]
        if not lateral:
            sides = ["midline"]
        else:
            u = r.random()
            sides = ["left", "right"] if u < paired else [["left"], ["right"], ["both"]][int(u * 100) % 3]
        ways = set()
        for side in sides:
            for s in ["left", "right"] if side == "both" else [side]:
                ways |= way(zone, s)
        counts = [[zone, s] for side in sides for s in (["left", "right"] if side == "both" else [side])]
        weight = r.randrange(1, 11)
        options = []
        for technique in r.sample(TECHNIQUES, r.choice([1, 1, 2])):
            for tool in ["hands"] if sides == ["both"] else r.sample(TOOLS, r.choice([1, 2])):
                fit = r.choice([1000, 850, 700])
                for s in seconds:
                    gain = int(weight * fit * (1 - (1 - min(s, 30) / 30) ** 2) + 0.5) * (2 if sides in (
                        ["midline"], ["both"]) else 1)
                    options.append({
                        "technique": technique, "technique_order": TECHNIQUES.index(technique), "tool": tool,
                        "tool_order": TOOLS.index(tool), "needs_oil": technique == "glide", "seconds": s,
                        "steps": [{"side": side, "pressure": "light", "seconds": s, "gain": gain} for side in sides],
                        "ways": [list(w) for w in sorted(ways)], "counts": counts})
        rows.append({"target": target, "zone": zone, "zone_rank": tree[zone]["rank"],
                     "target_rank": r.randrange(1, 4), "sides": "pair" if len(sides) == 2 else sides[0],
                     "required": r.random() < 0.1, "options": options})
    minutes = r.randint(*budget_minutes)
    return {"format": "tragion-instance-1", "minutes": minutes, "budget_s": minutes * 60,
            "side_mode": r.choice(["target_by_target", "side_by_side"]),
            "transitions": {"tool_s": r.choice([5, 5, 0]), "side_s": 3, "zone_s": 2},
            "targets_per_zone_side": r.choice([4, 2]),
            "oil": {"seconds": 20, "tool": "hands", "tool_order": 0, "done": r.random() < 0.2}, "places": places, "items": rows}
