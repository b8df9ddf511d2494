// Two machines, one behaviour: replays the sessions that `sessions` (crates/plan/examples) draws with crates/app/assets/engine.js and wants
// the state after every event to be the same text. Reads its lines from standard input.
import { readFileSync } from "node:fs";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";
import vm from "node:vm";

const file = fileURLToPath(new URL("../../crates/app/assets/engine.js", import.meta.url));
const Engine = vm.runInNewContext(`${readFileSync(file, "utf8")}; Engine`);

const sum = (text) => {
  let sum = 0x811c9dc5;
  for (let i = 0; i < text.length; i += 1) sum = Math.imul(sum ^ text.charCodeAt(i), 0x01000193) >>> 0;
  return sum;
};

let score = null;
let events = [];
let sums = [];
let sequences = 0;
let states = 0;
let wrong = 0;
const ends = {};
const notes = {};

for await (const line of createInterface({ input: process.stdin })) {
  const space = line.indexOf(" ");
  const [word, rest] = [line.slice(0, space), line.slice(space + 1)];
  if (word === "score") score = JSON.parse(rest);
  else if (word === "events") events = JSON.parse(rest);
  else if (word === "sums") sums = rest.split(" ").map(Number);
  else if (word === "last") {
    sequences += 1;
    const state = Engine.begin(score);
    let first = -1;
    events.forEach(([at, what, felt], i) => {
      Engine.apply(score, state, felt ? { at, do: what, felt } : { at, do: what });
      states += 1;
      if (state.note) notes[state.note] = (notes[state.note] ?? 0) + 1;
      if (first < 0 && sum(JSON.stringify(state)) !== sums[i]) first = i;
    });
    ends[state.over ?? "under way"] = (ends[state.over ?? "under way"] ?? 0) + 1;
    const again = JSON.stringify(Engine.replay(score, events.map(([at, what, felt]) => ({ at, do: what, felt })), 0));
    const same = first < 0 && JSON.stringify(state) === rest && sums.length === events.length;
    // A replay ends with a passing of time, which takes the last note away.
    if (!same || again !== JSON.stringify({ ...state, note: null })) {
      wrong += 1;
      if (wrong <= 3) console.error(`sequence ${sequences}, event ${first}: ${JSON.stringify(events)}\n  here  ${JSON.stringify(state)}\n  there ${rest}`);
    }
  }
}

// What never happened was not compared.
const missing = ["longer", "no_longer", "lighter", "ended", "dropped", "shorter_rest"].filter((note) => !notes[note])
  .concat(["whole", "early", "sign", "dizzy", "numb"].filter((end) => !ends[end]));
console.log(`engine: ${sequences} sequences, ${states} states, ${wrong} differ; ends ${JSON.stringify(ends)}; notes ${JSON.stringify(notes)}`);
if (missing.length) console.error(`never happened: ${missing.join(", ")}`);
process.exit(wrong === 0 && sequences > 0 && missing.length === 0 ? 0 : 1);
