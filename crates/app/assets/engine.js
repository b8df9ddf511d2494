// The session as a state machine: pure, no page, no clock. It is plan::session (crates/plan/src/session/engine.rs) line by line, for where
// no program stands behind the page; tests/oracle/engine.mjs replays random sessions in both and wants every state equal.
// Times are whole milliseconds. A state is plain data; `apply` and `until` change it and hand it back.
"use strict";

const Engine = (() => {
  const FEATHERLIGHT = 0;
  const TO_COME = 0, DONE = 1, LEFT_OUT = 2, PRESENT = 3;

  function begin(score) {
    const targets = score.steps.reduce((most, step) => Math.max(most, step.target + 1), 0);
    return {
      phase: "ready",
      paused: false,
      order: score.steps.map((_, i) => i),
      at: 0,
      left: 0,
      hold: 0,
      barred: false,
      pressure: FEATHERLIGHT,
      now: 0,
      spent: 0,
      status: score.steps.map(() => TO_COME),
      lighter: score.steps.map((step) => step.pressure),
      pains: Array(targets).fill(0),
      felt: [],
      early: false,
      over: null,
      note: null,
    };
  }

  function replay(score, events, at) {
    const state = begin(score);
    for (const event of events) apply(score, state, event);
    return until(score, state, at);
  }

  const runs = (state) => state.phase === "change" || state.phase === "hold";
  const present = (state) => (runs(state) ? state.order[state.at] : -1);

  function following(score, state) {
    if (state.phase === "over") return -1;
    const next = state.order.slice(runs(state) ? state.at + 1 : 0).find((i) => state.status[i] === TO_COME);
    return next ?? -1;
  }

  // Seconds between two steps, the talking before the second included; before the first step the lead.
  function changeSeconds(score, from, to) {
    if (from < 0) return score.lead + score.talk;
    const a = score.steps[from];
    const b = score.steps[to];
    const { tool, side, zone } = score.change;
    const crossed = (a.side === "left" && b.side === "right") || (a.side === "right" && b.side === "left");
    const moved = a.zone >= 0 && b.zone >= 0 && a.zone !== b.zone;
    return score.talk + (a.tool !== b.tool ? tool : 0) + (crossed ? side : 0) + (moved ? zone : 0);
  }

  // Lets time pass. A time before the present one is the present one.
  function until(score, state, at) {
    state.note = null;
    let passes = Math.max(0, at - state.now);
    state.now += passes;
    while (passes > 0 && runs(state) && !state.paused) {
      if (state.left > passes) {
        state.left -= passes;
        state.spent += passes;
        return state;
      }
      passes -= state.left;
      state.spent += state.left;
      state.left = 0;
      if (state.phase === "change") beginHold(score, state);
      else finish(score, state, DONE);
    }
    return state;
  }

  // Lets time pass until an event, then does it. What makes no sense now changes nothing.
  function apply(score, state, event) {
    until(score, state, event.at);
    const passed = state.note;
    state.note = null;
    const going = runs(state);
    switch (event.do) {
      case "start": if (state.phase === "ready") advance(score, state, -1); break;
      case "sign": if (state.phase !== "over") end(state, "sign"); break;
      case "felt": if (going) feel(score, state, event.felt); break;
      case "longer": if (state.phase === "hold") grow(score, state); break;
      case "next":
        if (state.phase === "hold") enough(score, state);
        else if (state.phase === "change") beginHold(score, state);
        break;
      case "skip":
        if (going) { finish(score, state, LEFT_OUT); state.note = "dropped"; }
        break;
      case "back": if (going) back(score, state); break;
      case "pause": if (going) state.paused = true; break;
      case "resume": if (going) state.paused = false; break;
      case "swap": if (going) swap(score, state); break;
      case "end": if (going && !state.early) endEarly(score, state); break;
      default: break;
    }
    state.note ??= passed;
    return state;
  }

  function end(state, over) {
    state.phase = "over";
    state.paused = false;
    state.left = 0;
    state.hold = 0;
    state.over = over;
    state.status = state.status.map((status) => (status === PRESENT ? LEFT_OUT : status));
  }

  function beginHold(score, state) {
    state.phase = "hold";
    state.hold = score.steps[state.order[state.at]].seconds * 1000;
    state.left = state.hold;
  }

  // The step at this place becomes the present one; `from` is the one before.
  function enter(score, state, place, from) {
    const step = state.order[place];
    state.at = place;
    state.status[step] = PRESENT;
    state.barred = false;
    state.pressure = state.lighter[step];
    state.phase = "change";
    state.hold = score.steps[step].seconds * 1000;
    state.left = changeSeconds(score, from, step) * 1000;
    if (state.left === 0) beginHold(score, state);
  }

  // The present step is over, one way or another; on to the next.
  function finish(score, state, status) {
    const step = state.order[state.at];
    state.status[step] = status;
    if (status === LEFT_OUT) prune(score, state.status);
    advance(score, state, step);
  }

  function advance(score, state, from) {
    inTime(score, state, from);
    const first = from >= 0 ? state.at + 1 : 0;
    for (let place = first; place < state.order.length; place += 1) {
      if (state.status[state.order[place]] === TO_COME) { enter(score, state, place, from); return; }
    }
    end(state, state.early ? "early" : "whole");
  }

  // Enough of the present hold. An opening that was too short is none.
  function enough(score, state) {
    const step = score.steps[state.order[state.at]];
    const short = state.hold - state.left < step.least * 1000;
    const status = step.movement === "open" && short ? LEFT_OUT : DONE;
    finish(score, state, status);
    if (status === LEFT_OUT) state.note = "dropped";
  }

  function grow(score, state) {
    const step = score.steps[state.order[state.at]];
    const longer = Math.min(state.hold + step.grow * 1000, step.most * 1000);
    if (state.barred || longer <= state.hold) { state.note = "no_longer"; return; }
    state.left += longer - state.hold;
    state.hold = longer;
    state.note = "longer";
  }

  function feel(score, state, felt) {
    // Between two steps it is the one before that was felt.
    let step = -1;
    if (state.phase === "hold") step = state.order[state.at];
    else for (let p = state.at - 1; p >= 0 && step < 0; p -= 1) if (state.status[state.order[p]] === DONE) step = state.order[p];
    if (step >= 0) state.felt.push({ step, felt, at: state.now });
    if (felt === "dizzy") { end(state, "dizzy"); return; }
    if (felt === "numb") { end(state, "numb"); return; }
    if (step < 0) return;
    if ((felt === "tender" || felt === "tight") && state.phase === "hold") grow(score, state);
    if (felt === "red") {
      lighten(score, state, step);
      if (state.phase === "hold") red(score, state, step);
    }
    if (felt === "painful") painful(score, state, step);
  }

  const softer = (pressure) => Math.max(pressure - 1, FEATHERLIGHT);

  // Later holds of the same target are one class lighter than this one was.
  function lighten(score, state, step) {
    const was = state.phase === "hold" ? state.pressure : state.lighter[step];
    score.steps.forEach((other, i) => {
      if (other.target === score.steps[step].target && state.status[i] !== DONE && i !== step) {
        state.lighter[i] = Math.max(Math.min(state.lighter[i], softer(was)), other.softest);
      }
    });
    // Between two steps, the coming one may be of the same target.
    if (state.phase === "change") state.pressure = state.lighter[state.order[state.at]];
  }

  function red(score, state, step) {
    state.barred = true;
    state.note = "no_longer";
    const planned = score.steps[step].seconds * 1000;
    if (state.hold > planned) {
      const cut = state.hold - planned;
      state.hold = planned;
      state.left = Math.max(0, state.left - cut);
      if (state.left === 0) {
        finish(score, state, DONE);
        state.note = "ended";
      }
    }
  }

  function painful(score, state, step) {
    const row = score.steps[step];
    state.pains[row.target] += 1;
    const third = state.pains[row.target] >= 3;
    lighten(score, state, step);
    if (third) {
      score.steps.forEach((other, i) => {
        if (other.target === row.target && state.status[i] === TO_COME) state.status[i] = LEFT_OUT;
      });
      prune(score, state.status);
      state.note = "dropped";
    }
    if (state.phase === "change") {
      // What hurts is not open; the coming step may lie beyond it, or be of the same target.
      if (row.movement === "open") {
        state.status[step] = LEFT_OUT;
        prune(score, state.status);
      }
      const coming = state.order[state.at];
      if ((third && score.steps[coming].target === row.target) || senseless(score, state.status, coming)) {
        finish(score, state, LEFT_OUT);
        state.note = "dropped";
      }
      return;
    }
    if (third || row.delicate || state.pressure <= row.softest) {
      // What hurts is not open.
      const status = row.movement === "open" ? LEFT_OUT : DONE;
      finish(score, state, status);
      state.note = third || status === LEFT_OUT ? "dropped" : "ended";
      return;
    }
    state.barred = true;
    state.pressure = Math.max(softer(state.pressure), row.softest);
    state.lighter[step] = state.pressure;
    const half = Math.floor(state.left / 2);
    state.hold -= state.left - half;
    state.left = half;
    state.note = "lighter";
  }

  function back(score, state) {
    for (let place = state.at - 1; place >= 0; place -= 1) {
      const before = state.order[place];
      if (state.status[before] === DONE && state.pains[score.steps[before].target] < 3) {
        const step = state.order[state.at];
        state.status[step] = TO_COME;
        enter(score, state, place, step);
        return;
      }
    }
  }

  // The other side of the same target first: in the work wherever it is still to come, in open and close only if it is the next.
  function swap(score, state) {
    const step = state.order[state.at];
    const row = score.steps[step];
    let next = -1;
    let place = -1;
    for (let p = state.at + 1; p < state.order.length && place < 0; p += 1) {
      if (state.status[state.order[p]] !== TO_COME) continue;
      if (next < 0) next = p;
      const twin = score.steps[state.order[p]];
      if (twin.target === row.target && twin.movement === row.movement && twin.side !== row.side) place = p;
    }
    if (place < 0) return;
    const ready = score.steps[state.order[place]].needs.every((n) => state.status[n] === DONE);
    if (!ready || (row.movement !== "work" && next !== place)) return;
    [state.order[state.at], state.order[place]] = [state.order[place], state.order[state.at]];
    state.status[step] = TO_COME;
    enter(score, state, state.at, step);
  }

  function endEarly(score, state) {
    state.early = true;
    score.steps.forEach((step, i) => {
      if (state.status[i] === TO_COME && step.movement !== "close") state.status[i] = LEFT_OUT;
    });
    prune(score, state.status);
    // A closing under way is done to its end.
    if (score.steps[state.order[state.at]].movement === "close") return;
    if (state.phase === "change") finish(score, state, LEFT_OUT);
    else enough(score, state);
    state.note = "dropped";
  }

  // Takes a shorter rest if what is still to come does not fit the seconds there are.
  function inTime(score, state, from) {
    const late = () => Math.max(0, state.spent + rest(score, state, from) - score.budget * 1000);
    if (from < 0 || late() <= score.slack * 1000) return;
    const here = score.endings.filter((ending) => ending.after === state.at);
    let by = late();
    for (const ending of here) {
      const last = !here.some((other) => other.late > ending.late);
      if (ending.late * 1000 < by && !last) continue;
      let dropped = false;
      for (const i of ending.drop) {
        if (state.status[i] === TO_COME) { state.status[i] = LEFT_OUT; dropped = true; }
      }
      if (dropped) {
        prune(score, state.status);
        state.note = "shorter_rest";
      }
      by = late();
      if (by <= score.slack * 1000) return;
    }
  }

  // Milliseconds of all that is still to come.
  function rest(score, state, from) {
    let last = from;
    let sum = 0;
    for (const i of state.order) {
      if (state.status[i] !== TO_COME) continue;
      sum += (changeSeconds(score, last, i) + score.steps[i].seconds) * 1000;
      last = i;
    }
    return sum;
  }

  // Leaves out what makes no sense without what is left out already: whatever lies beyond an opening that is left out, openings that no
  // work needs any more, oil for nothing, closings of what is not open.
  function prune(score, status) {
    for (let changed = true; changed;) {
      changed = false;
      const wanted = wants(score, status);
      score.steps.forEach((_, i) => {
        if (status[i] === TO_COME && isSenseless(score, status, wanted, i)) { status[i] = LEFT_OUT; changed = true; }
      });
    }
  }

  const senseless = (score, status, i) => isSenseless(score, status, wants(score, status), i);

  // Which openings, and whether the oil, any work needs that is not left out: 0 no work ever, 1 none any more, 2 some.
  function wants(score, status) {
    const wanted = { openings: score.steps.map(() => 0), oil: 0 };
    score.steps.forEach((step, w) => {
      if (step.movement !== "work") return;
      const by = status[w] === LEFT_OUT ? 1 : 2;
      for (const n of step.needs) wanted.openings[n] = Math.max(wanted.openings[n], by);
      if (step.glides) wanted.oil = Math.max(wanted.oil, by);
    });
    return wanted;
  }

  function isSenseless(score, status, wanted, i) {
    const step = score.steps[i];
    const beyond = () => step.needs.some((n) => status[n] === LEFT_OUT);
    switch (step.movement) {
      case "open": return beyond() || wanted.openings[i] === 1;
      case "prepare": return wanted.oil === 1;
      case "work": return beyond();
      default: return step.closes.length > 0 && step.closes.every((o) => status[o] === LEFT_OUT);
    }
  }

  return { begin, apply, until, replay, following, present, changeSeconds };
})();
