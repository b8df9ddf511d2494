"""The calendar of sessions, read by others: PyPI icalendar parses it, and Python's own zoneinfo says which moment each session is.

    python tests/documents/calendar_file.py

Three ways to each moment must agree: zoneinfo's rules for the zone of the day and hour that was asked (a time that is not there with the
offset from before the gap, of two the first: RFC 5545, 3.3.5); zoneinfo's rules for what the file has; and the file's own VTIMEZONE,
worked out here from RFC 5545, 3.6.5. TRAGION_BIN names another program.
"""

import datetime as dt
import os
import pathlib
import subprocess
import sys
import tempfile
import zoneinfo

import icalendar

ROOT = pathlib.Path(__file__).resolve().parents[2]
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
BINARY = pathlib.Path(os.environ.get("TRAGION_BIN", TARGET / "release" / "tragion")).resolve()
UTC = dt.timezone.utc
# Zone, first day, days, hours: over both changes of the year where there are any; a half-hour change; none; odd offsets; a change at midnight;
# the day line; winter time that counts as the exception; a zone that gave its changes up.
PLANS = [
    ("Europe/Berlin", "2026-03-20", 30, ["21:30"]),
    ("Europe/Berlin", "2026-03-27", 4, ["2:00", "2:30", "3:00"]),
    ("Europe/Berlin", "2026-10-23", 4, ["1:59", "2:30", "3:00"]),
    ("Europe/Dublin", "2026-03-27", 240, ["1:30", "20:00"]),
    ("America/New_York", "2026-03-01", 270, ["2:30", "22:15"]),
    ("America/St_Johns", "2026-10-25", 14, ["1:15", "12:00"]),
    ("America/Sao_Paulo", "2026-01-01", 366, ["6:05"]),
    ("Australia/Lord_Howe", "2026-03-30", 12, ["1:45", "19:00"]),
    ("Australia/Lord_Howe", "2026-09-28", 12, ["2:15", "19:00"]),
    ("Asia/Kathmandu", "2026-03-01", 60, ["6:45", "21:30"]),
    ("Pacific/Chatham", "2026-09-20", 20, ["2:50", "23:59"]),
    ("Pacific/Kiritimati", "2026-03-01", 5, ["0:00"]),
    ("America/Havana", "2026-03-05", 8, ["0:30"]),
    ("Asia/Beirut", "2026-03-25", 8, ["0:15"]),
    ("UTC", "2026-12-30", 5, ["21:30"]),
]


def ensure(condition, message):
    if not condition:
        raise AssertionError(message)


def made(folder, plan, *more):
    zone, start, days, hours = plan
    done = subprocess.run(
        [BINARY, "takehome", ROOT / "examples/routine.toml", "--out", folder, "--today", "2026-01-01", "--force", "--start", start,
         "--days", str(days), "--tz", zone, "--at", *hours, *more],
        capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL)
    ensure(done.returncode == 0, f"exit {done.returncode}: {done.stderr[:300]}")
    return (pathlib.Path(folder) / "sessions.ics").read_bytes(), done.stderr


def asked(plan):
    """Every moment that was asked for, by zoneinfo: fold 0 is RFC 5545's reading of gaps and of doubled hours."""
    zone, start, days, hours = plan
    rules = zoneinfo.ZoneInfo(zone)
    times = sorted(tuple(map(int, hour.split(":"))) for hour in hours)
    first = dt.date.fromisoformat(start)
    return [dt.datetime.combine(first + dt.timedelta(days=n), dt.time(*time), rules).astimezone(UTC) for n in range(days) for time in times]


def by_its_own_rules(calendar, told):
    """A wall time of the file as UTC, from the file's VTIMEZONE alone: the last onset before it counts."""
    onsets = []
    for zone in calendar.walk("VTIMEZONE"):
        for rule in zone.subcomponents:
            ensure("RRULE" not in rule and "RDATE" not in rule, "a rule that repeats: this reader knows none")
            begins, before, after = rule["DTSTART"].dt, rule["TZOFFSETFROM"].td, rule["TZOFFSETTO"].td
            onsets.append((begins - before, after))
    onsets.sort()
    moments = []
    for offset in {after for _, after in onsets}:
        moment = told - offset
        holds = [after for begins, after in onsets if begins <= moment]
        if holds and holds[-1] == offset:
            moments.append(moment)
    ensure(moments, f"no rule of the file holds at {told}")
    return min(moments).replace(tzinfo=UTC)


def moments(plan, folder):
    data, _ = made(folder, plan)
    calendar = icalendar.Calendar.from_ical(data)
    events = calendar.walk("VEVENT")
    wanted = asked(plan)
    ensure(len(events) == len(wanted), f"{len(events)} sessions, not {len(wanted)}")
    rules = zoneinfo.ZoneInfo(plan[0])
    for event, moment in zip(events, wanted):
        told = event["DTSTART"].dt.replace(tzinfo=None)
        ensure(event["DTSTART"].params["TZID"] == plan[0], "another zone")
        ensure(told.replace(tzinfo=rules).astimezone(UTC) == moment, f"{told} is not {moment}")
        ensure(by_its_own_rules(calendar, told) == moment, f"the file's own rules make {by_its_own_rules(calendar, told)} of {told}, not {moment}")
    return data, events


def lines(data):
    """RFC 5545, 3.1: CRLF alone, at most 75 octets, folded between letters."""
    ensure(data.endswith(b"\r\n") and b"\n" not in data.replace(b"\r\n", b""), "a line that does not end in CRLF")
    for line in data.split(b"\r\n"):
        ensure(len(line) <= 75, f"{len(line)} octets")
        line.decode("utf-8")


def what_each_says(events):
    """RFC 5545, 3.6.1 and 3.6.6: what an event and a reminder must have."""
    uids = [str(event["UID"]) for event in events]
    ensure(len(set(uids)) == len(uids), "a UID twice")
    for event in events:
        ensure(event["DTSTAMP"].dt == dt.datetime(2026, 1, 1, tzinfo=UTC), f"DTSTAMP {event['DTSTAMP'].dt}")
        ensure(event["DURATION"].dt == dt.timedelta(minutes=6), f"it takes {event['DURATION'].dt}")
        ensure("stop at once" in event["DESCRIPTION"], "it does not say when to stop")
        ensure(int(event["SEQUENCE"]) > 0, "no SEQUENCE")
        (alarm,) = event.walk("VALARM")
        ensure(alarm["ACTION"] == "DISPLAY" and alarm["TRIGGER"].dt == dt.timedelta(minutes=-10) and alarm["DESCRIPTION"], "no reminder")


def names(folder):
    """Any name comes back as it was given."""
    for name in ["Jaw, neck; sleep", "back\\slash \\n and \"quotes\"", "Müde Augen 😴👩‍👩‍👧", "顎をゆるめる" * 15, "é" * 119, "a:b=c%0D%0A BEGIN:VEVENT", "–" * 80]:
        data, _ = made(folder, ("UTC", "2026-03-01", 2, ["7:00"]), "--name", name)
        lines(data)
        events = icalendar.Calendar.from_ical(data).walk("VEVENT")
        ensure(len(events) == 2 and all(str(event["SUMMARY"]) == name for event in events), f"{name!r} came back as {events[0]['SUMMARY']!r}")


def clocks_are_told(folder):
    _, told = made(folder, ("Europe/Berlin", "2026-03-27", 4, ["2:30"]))
    ensure("go forward" in told and "03:30" in told, told)
    _, told = made(folder, ("Europe/Berlin", "2026-10-23", 4, ["2:30"]))
    ensure("go back" in told, told)


def wrong_rules_are_found(folder):
    """The reader of VTIMEZONE above does find a zone that is an hour off."""
    plan = ("Europe/Berlin", "2026-03-20", 30, ["21:30"])
    data, _ = made(folder, plan)
    calendar = icalendar.Calendar.from_ical(data.replace(b"TZOFFSETTO:+0200", b"TZOFFSETTO:+0300"))
    told = [event["DTSTART"].dt.replace(tzinfo=None) for event in calendar.walk("VEVENT")]
    off = 0
    for wall, moment in zip(told, asked(plan)):
        try:
            off += by_its_own_rules(calendar, wall) != moment
        except AssertionError:
            off += 1
    ensure(off > 10, f"only {off} sessions are off")


def main():
    passed = failed = sessions = 0

    def test(name, work):
        nonlocal passed, failed
        try:
            work()
            passed += 1
            print(f"ok      calendar: {name}")
        except (AssertionError, OSError, ValueError, KeyError, TypeError, IndexError, subprocess.TimeoutExpired) as error:
            failed += 1
            print(f"FAILED  calendar: {name}\n        {type(error).__name__}: {error}")

    with tempfile.TemporaryDirectory() as folder:
        for plan in PLANS:

            def work(plan=plan):
                nonlocal sessions
                data, events = moments(plan, folder)
                lines(data)
                what_each_says(events)
                sessions += len(events)

            test(f"{plan[0]} from {plan[1]}, {plan[2]} days at {', '.join(plan[3])}", work)
        test("names", lambda: names(folder))
        test("clocks that go forward and back", lambda: clocks_are_told(folder))
        test("wrong rules are found", lambda: wrong_rules_are_found(folder))
    print(f"{sessions} sessions at the moment that zoneinfo {zoneinfo.__name__} and the file's own rules say")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or not passed else 0


if __name__ == "__main__":
    sys.exit(main())
