"""The peer: the same planning problem given to OR-Tools CP-SAT.

    python tests/oracle/peer.py INSTANCE.json        prints the best gain and seconds, and the steps

The formulation carries the last tool, side and zone along the fixed order of all steps that could be done. What is
at a place of the order is a sum of choices; links between neighbours are linear and tight. One worker,
linearization_level = 2, a fixed seed. First the gain is made largest; then, with the gain fixed, the seconds least.
"""

import json
import sys

from ortools.sat.python import cp_model

from instance import SIDE_ORDER, load, place_key, steps_of, total_s

NEUTRAL = "neutral"


def solver(time_limit_s):
    s = cp_model.CpSolver()
    s.parameters.num_workers = 1
    s.parameters.linearization_level = 2
    s.parameters.random_seed = 1
    if time_limit_s:
        s.parameters.max_time_in_seconds = time_limit_s
    return s


class Visit:
    """One way of being at a place of the order: with a tool, coming in on a side and going out on one, in a zone."""

    def __init__(self, on, tool, enter, leave, zone):
        self.on, self.tool, self.enter, self.leave, self.zone = on, tool, enter, leave, zone


def side_word(side):
    return side if side in ("left", "right") else NEUTRAL


class Model:
    def __init__(self, instance):
        self.instance = instance
        self.m = cp_model.CpModel()
        self.constant_zero = 0
        self.time = []
        self.choose()
        self.open()
        self.carry(self.places_in_order())
        self.total = sum(self.time)
        self.m.add(self.total <= instance["budget_s"])
        self.gain = sum(
            self.x[i][o] * sum(step["gain"] for step in option["steps"])
            for i, item in enumerate(instance["items"]) for o, option in enumerate(item["options"]))

    def choose(self):
        """At most one option for each item, exactly one if it is required; not too many in one zone and side."""
        self.x = []
        crowd = {}
        for i, item in enumerate(self.instance["items"]):
            row = [self.m.new_bool_var(f"x{i}_{o}") for o in range(len(item["options"]))]
            (self.m.add_exactly_one if item["required"] else self.m.add_at_most_one)(row)
            self.x.append(row)
            for o, option in enumerate(item["options"]):
                self.time.append(row[o] * sum(step["seconds"] for step in option["steps"]))
                for zone, side in option["counts"]:
                    crowd.setdefault((zone, side), {}).setdefault(i, []).append(row[o])
        most = self.instance["targets_per_zone_side"]
        for by_item in crowd.values():
            if len(by_item) > most:
                self.m.add(sum(v for row in by_item.values() for v in row) <= most)

    def open(self):
        """A place is opened if and only if a chosen option has it on its way; the oil, if one needs it."""
        needs = {}
        for i, item in enumerate(self.instance["items"]):
            for o, option in enumerate(item["options"]):
                for way in {place_key(w) for w in option["ways"]}:
                    needs.setdefault(way, {}).setdefault(i, []).append(self.x[i][o])
        self.opened = {}
        for place in self.instance["places"]:
            key = (place["zone"], place["side"])
            if place["open"] is None or key not in needs:
                continue
            opened = self.m.new_bool_var(f"open_{key[0]}_{key[1]}")
            self.opened[key] = opened
            self.exactly_if_any(opened, needs[key])
            self.time.append(opened * place["open"]["seconds"])
            if place["close"] is not None:
                self.time.append(opened * place["close"]["seconds"])
        # A place that is on every way on which another one is comes with it.
        for inner in self.opened:
            for outer in self.opened:
                if inner != outer and all(
                        set(map(id, needs[outer][i])) <= set(map(id, needs[inner].get(i, []))) for i in needs[outer]):
                    self.m.add_implication(self.opened[outer], self.opened[inner])
        oily = {}
        for i, item in enumerate(self.instance["items"]):
            for o, option in enumerate(item["options"]):
                if option["needs_oil"]:
                    oily.setdefault(i, []).append(self.x[i][o])
        self.oil = None
        if oily and not self.instance["oil"]["done"]:
            self.oil = self.m.new_bool_var("oil")
            self.exactly_if_any(self.oil, oily)
            self.time.append(self.oil * self.instance["oil"]["seconds"])

    def exactly_if_any(self, literal, by_item):
        for row in by_item.values():
            self.m.add(sum(row) <= literal)
        self.m.add(literal <= sum(v for row in by_item.values() for v in row))

    def places_in_order(self):
        """All steps that could be done, in the order of the routine; each place is a list of exclusive visits."""
        by_side = self.instance["side_mode"] == "side_by_side"
        rows = [p for p in self.instance["places"] if (p["zone"], p["side"]) in self.opened]

        def visit(place, movement):
            side = side_word(place["side"])
            return [Visit([self.opened[(place["zone"], place["side"])]], place[movement]["tool"], side, side,
                          place["zone"])]

        def opening(p):
            return ((SIDE_ORDER[p["side"]],) if by_side else ()) + (
                p["depth"], p["zone"].encode(), SIDE_ORDER[p["side"]])

        def closing(p):
            third = -1 if p["side"] == "midline" else SIDE_ORDER[p["side"]]
            return ((third,) if by_side else ()) + (-p["depth"], p["zone"].encode(), SIDE_ORDER[p["side"]])

        order = [visit(p, "open") for p in sorted(rows, key=opening)]
        if self.oil is not None:
            order.append([Visit([self.oil], self.instance["oil"]["tool"], NEUTRAL, NEUTRAL, None)])
        order += self.work_side_by_side() if by_side else self.work_target_by_target()
        order += [visit(p, "close") for p in sorted(rows, key=closing) if p["close"] is not None]
        return order

    def work_target_by_target(self):
        """Left and right of one target are neighbours: one place, entered on the left and left on the right."""
        found = []
        for i, item in enumerate(self.instance["items"]):
            visits = {}
            for o, option in enumerate(item["options"]):
                sides = [side_word(step["side"]) for step in option["steps"]]
                visits.setdefault((option["tool"], sides[0], sides[-1]), []).append(self.x[i][o])
                if len(sides) == 2:
                    self.time.append(self.x[i][o] * self.instance["transitions"]["side_s"])
            first = min(SIDE_ORDER[s["side"]] for option in item["options"] for s in option["steps"])
            key = (item["zone_rank"], item["target_rank"], item["target"].encode(), first)
            found.append((key, [Visit(on, t, a, b, item["zone"]) for (t, a, b), on in visits.items()]))
        return [visits for _, visits in sorted(found, key=lambda f: f[0])]

    def work_side_by_side(self):
        found = []
        for i, item in enumerate(self.instance["items"]):
            by_side = {}
            for o, option in enumerate(item["options"]):
                for step in option["steps"]:
                    by_side.setdefault(step["side"], {}).setdefault(option["tool"], []).append(self.x[i][o])
            for side, by_tool in by_side.items():
                third = {"left": 0, "right": 1}.get(side, 2)
                key = (third, item["zone_rank"], item["target_rank"], item["target"].encode(), SIDE_ORDER[side])
                word = side_word(side)
                found.append((key, [Visit(on, tool, word, word, item["zone"]) for tool, on in by_tool.items()]))
        return [visits for _, visits in sorted(found, key=lambda f: f[0])]

    def carry(self, order):
        cost = self.instance["transitions"]
        tools = [[(v.on, v.tool, v.tool) for v in visits] for visits in order]
        self.carry_one("tool", tools, cost["tool_s"], never=())
        sides = [[(v.on, v.enter, v.leave) for v in visits] for visits in order]
        self.carry_one("side", sides, cost["side_s"], never=(NEUTRAL,))
        # Neighbouring places of one zone form one stretch: the zone can only change between stretches.
        stretches = []
        for visits in order:
            zone = visits[0].zone
            if stretches and stretches[-1][0] == zone:
                stretches[-1][1].append([lit for v in visits for lit in v.on])
            else:
                stretches.append((zone, [[lit for v in visits for lit in v.on]]))
        zones = []
        for n, (zone, places) in enumerate(stretches):
            if len(places) == 1:
                on = places[0]
            else:
                entered = self.m.new_bool_var(f"stretch{n}")
                for lits in places:
                    self.m.add(sum(lits) <= entered)
                self.m.add(entered <= sum(lit for lits in places for lit in lits))
                on = [entered]
            word = NEUTRAL if zone is None else zone
            zones.append([(on, word, word)])
        self.carry_one("zone", zones, cost["zone_s"], never=(NEUTRAL,))

    def carry_one(self, name, order, seconds, never):
        """Carries the last value of one property; each place that is entered with another value costs `seconds`.

        `order`: for each place, exclusive (literals, value on entering, value on leaving). Values in `never`
        cost nothing on either side. The state before a place is one value out of those met so far, or nothing yet.
        """
        if seconds == 0:
            return
        # Only values that some later place can meet again need a state of their own; all others are "other".
        last_use = {}
        for k, visits in enumerate(order):
            for _, enter, _ in visits:
                last_use[enter] = k
        state = {}  # value -> expression (0/1) that it is the last one; what is missing is never the last
        free = 1  # expression: nothing yet, or a value in `never`
        for k, visits in enumerate(order):
            enter = {}
            leave = {}
            for lits, a, b in visits:
                enter.setdefault(a, []).extend(lits)
                leave.setdefault(b, []).extend(lits)
            if k > 0:
                paid = [a for a in enter if a not in never]
                if paid:
                    change = self.m.new_bool_var(f"{name}_change{k}")
                    self.time.append(change * seconds)
                    for a in paid:
                        self.m.add(change >= sum(enter[a]) - state.get(a, 0) - free)
                        others = [e for v, e in state.items() if v != a]
                        if others:
                            self.m.add(change >= sum(enter[a]) + sum(others) - 1)
            new = {}
            everything = [lit for lits, _, _ in visits for lit in lits]
            values = (set(state) | set(leave)) - set(never)
            keep = {v for v in values if last_use.get(v, -1) > k}
            for v in sorted(keep):
                here = leave.get(v, [])
                others = [lit for b, lits in leave.items() if b != v for lit in lits]
                before = state.get(v, 0)
                after = self.m.new_bool_var(f"{name}_{v}_{k}")
                self.m.add(after <= sum(here) + before)
                if here:
                    self.m.add(after >= sum(here))
                if others:
                    self.m.add(after <= 1 - sum(others))
                self.m.add(after >= before - sum(others))
                new[v] = after
            other_here = [lit for b, lits in leave.items() if b not in never and b not in keep for lit in lits]
            other_before = [e for v, e in state.items() if v not in keep]
            if other_here or other_before:
                after = self.m.new_bool_var(f"{name}_other_{k}")
                rest = [lit for lit in everything if all(lit is not o for o in other_here)]
                self.m.add(after <= sum(other_here) + sum(other_before))
                if other_here:
                    self.m.add(after >= sum(other_here))
                if rest:
                    self.m.add(after <= 1 - sum(rest))
                self.m.add(after >= sum(other_before) - sum(everything))
                new["\0other"] = after
            free_after = self.m.new_bool_var(f"{name}_free_{k}")
            self.m.add(sum(new.values()) + free_after == 1)
            state, free = new, free_after

    def chosen(self, s):
        return {i: o for i, row in enumerate(self.x) for o, v in enumerate(row) if s.boolean_value(v)}


def solve(instance, time_limit_s=None):
    """The best gain and, for it, the least seconds; None if nothing can be worked within the minutes."""
    model = Model(instance)
    if not instance["items"]:
        return {"none": True, "proven": True, "solve_s": 0.0, "gain_s": 0.0}
    s = solver(time_limit_s)
    model.m.maximize(model.gain)
    status = s.solve(model.m)
    gain_s = s.wall_time
    if status == cp_model.INFEASIBLE:
        return {"none": True, "proven": True, "solve_s": gain_s, "gain_s": gain_s}
    if status != cp_model.OPTIMAL:
        return {"none": False, "proven": False, "solve_s": gain_s, "gain_s": gain_s}
    gain = round(s.objective_value)
    first = model.chosen(s)
    model.m.add(model.gain == gain)
    model.m.clear_objective()
    model.m.minimize(model.total)
    for i, row in enumerate(model.x):
        for o, v in enumerate(row):
            model.m.add_hint(v, first.get(i) == o)
    s = solver(time_limit_s)
    status = s.solve(model.m)
    solve_s = gain_s + s.wall_time
    if status != cp_model.OPTIMAL:
        return {"none": False, "proven": False, "solve_s": solve_s, "gain_s": gain_s}
    choice = model.chosen(s)
    steps = steps_of(instance, choice)
    total = total_s(instance, steps)
    if total != round(s.objective_value) or sum(step["gain"] for step in steps) != gain:
        raise AssertionError(f"CP-SAT says {gain}, {s.objective_value} s; its own choice makes {total} s")
    return {
        "none": not steps, "proven": True, "solve_s": solve_s, "gain_s": gain_s, "gain": gain, "total_s": total,
        "choice": choice, "steps": steps,
    }


class Collect(cp_model.CpSolverSolutionCallback):
    def __init__(self, model, most):
        super().__init__()
        self.model, self.most, self.found = model, most, []

    def on_solution_callback(self):
        self.found.append(self.model.chosen(self))
        if len(self.found) > self.most:
            self.stop_search()


def twins(instance, gain, total, most=5000, time_limit_s=20):
    """Every choice with this gain within this many seconds; None if there are too many to list."""
    model = Model(instance)
    model.m.add(model.gain == gain)
    model.m.add(model.total <= total)
    s = solver(time_limit_s)
    s.parameters.enumerate_all_solutions = True
    collect = Collect(model, most)
    status = s.solve(model.m, collect)
    return collect.found if status == cp_model.OPTIMAL and len(collect.found) <= most else None


def main():
    if len(sys.argv) != 2:
        print("usage: peer.py INSTANCE.json", file=sys.stderr)
        return 2
    answer = solve(load(sys.argv[1]))
    answer.pop("choice", None)
    print(json.dumps(answer, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
