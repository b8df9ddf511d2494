"""Tries every choice of a small instance. Slow on purpose: it has nothing to get wrong but the model itself."""

import itertools

from instance import required_in, smaller, steps_of, total_s, zones_fit


def choices(instance):
    sizes = [range(-1, len(item["options"])) for item in instance["items"]]
    for picks in itertools.product(*sizes):
        yield {i: o for i, o in enumerate(picks) if o >= 0}


def best(instance):
    """The best choice by gain, then seconds, then the smallest step list; None if nothing can be worked."""
    found = None
    for choice in choices(instance):
        if not choice or not required_in(instance, choice) or not zones_fit(instance, choice):
            continue
        steps = steps_of(instance, choice)
        total = total_s(instance, steps)
        if total > instance["budget_s"]:
            continue
        gain = sum(step["gain"] for step in steps)
        value = (-gain, total)
        if found is None or value < found["value"] or (value == found["value"] and smaller(steps, found["steps"])):
            found = {"value": value, "gain": gain, "total_s": total, "steps": steps, "choice": choice}
    return found
