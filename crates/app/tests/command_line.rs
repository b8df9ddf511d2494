//! Journeys on the command line: the examples, the exit codes, the JSON contract, and bad input.

mod house;

use house::{DAY, Folder, example, examples_like, program, run, run_with};
use serde_json::Value;

fn list<'a>(value: &'a Value, key: &str) -> &'a Vec<Value> {
    value[key].as_array().unwrap_or_else(|| panic!("`{key}` is no list"))
}

fn keys(value: &Value, wanted: &[&str]) {
    for key in wanted {
        assert!(value.get(key).is_some(), "`{key}` is missing in {value}");
    }
}

#[test]
fn every_example_request_has_a_proven_draft_that_passes_its_own_check() {
    let folder = Folder::new("drafts");
    let requests = examples_like("", "request");
    assert!(requests.len() >= 10, "only {} example requests", requests.len());
    for name in requests {
        let out = folder.file("routine.toml");
        let said = run(&["draft", &example(&name), "--json", "--today", DAY, "--toml", &out]);
        assert_eq!(said.code, 0, "{name}: {}", said.err);
        let draft = said.json();
        assert_eq!(draft["proven_best"], true, "{name}");
        assert_eq!(draft["gain"], draft["bound"], "{name}");
        assert!(draft["total_s"].as_u64() <= draft["minutes"].as_u64().map(|m| m * 60), "{name}");
        let checked = run(&["check", &out, "--json", "--today", DAY]);
        assert_eq!(checked.code, 0, "{name}: {}", checked.out);
    }
}

#[test]
fn the_draft_contract_holds() {
    let said = run(&["draft", &example("request_tool.toml"), "--json", "--today", DAY]);
    let draft = said.json();
    let wanted =
        ["steps", "total_s", "gain", "bound", "proven_best", "left_out", "curve", "fallbacks", "gain_unit", "notice"];
    keys(&draft, &wanted);
    let mut end = 0;
    for step in list(&draft, "steps") {
        let wanted =
            ["movement", "target", "side", "technique", "tool", "pressure", "seconds", "start_s", "end_s", "why"];
        keys(step, &wanted);
        assert!(["open", "prepare", "work", "close"].contains(&step["movement"].as_str().unwrap_or("")), "{step}");
        assert!(["left", "right", "both", "midline"].contains(&step["side"].as_str().unwrap_or("")), "{step}");
        assert!(!list(step, "why").is_empty(), "no reason: {step}");
        assert!(step["target"] != "oil" || step["side"] == "midline", "{step}");
        let (from, to) = (step["start_s"].as_u64().expect("start"), step["end_s"].as_u64().expect("end"));
        assert!(from >= end && Some(to - from) == step["seconds"].as_u64(), "{step}");
        end = to;
    }
    assert_eq!(Some(end), draft["total_s"].as_u64());
    for out in list(&draft, "left_out") {
        keys(out, &["target", "side", "reason", "rule"]);
        assert!(
            !out["reason"].as_str().unwrap_or("").is_empty() && !out["rule"].as_str().unwrap_or("").is_empty(),
            "{out}"
        );
    }
    let minutes: Vec<u64> = list(&draft, "curve").iter().filter_map(|p| p["minutes"].as_u64()).collect();
    assert!(minutes.len() > 5 && minutes.windows(2).all(|w| w[0] < w[1]), "{minutes:?}");
    assert!(!list(&draft, "fallbacks").is_empty());
    for fallback in list(&draft, "fallbacks") {
        keys(fallback, &["after_step", "seconds_left", "steps"]);
        let last = list(fallback, "steps").last().and_then(|s| s["end_s"].as_u64()).unwrap_or(0);
        assert!(Some(last) <= fallback["seconds_left"].as_u64(), "a fallback is longer than what is left: {fallback}");
    }
}

#[test]
fn the_screen_contract_holds() {
    let said = run(&["screen", &example("answers_device_left.toml"), "--json", "--today", DAY]);
    assert_eq!(said.code, 0, "{}", said.err);
    let screen = said.json();
    keys(&screen, &["clearance", "warning_signs", "unanswered", "notice"]);
    let mut classes: Vec<&str> = Vec::new();
    for row in list(&screen, "clearance") {
        keys(row, &["target", "side", "technique", "tool", "class", "rules"]);
        let class = row["class"].as_str().expect("a class");
        assert!(["stop", "leave_out", "ask_first", "gently", "go"].contains(&class), "{row}");
        assert!(class == "go" || !list(row, "rules").is_empty(), "no rule says so: {row}");
        classes.push(class);
    }
    assert!(classes.contains(&"leave_out") && classes.contains(&"go"), "the device changes nothing, or everything");
    let stopped = run(&["screen", &example("answers_stop.toml"), "--json", "--today", DAY]);
    assert_eq!(stopped.code, 0);
    assert!(list(&stopped.json(), "clearance").iter().any(|r| r["class"] == "stop"));
}

#[test]
fn what_is_not_for_the_hand_is_listed_with_its_reason() {
    let answers = example("answers_full.toml");
    let screen = run(&["screen", &answers, "--json", "--today", DAY]).json();
    let plain = run(&["screen", &answers, "--today", DAY]);
    assert_eq!(plain.code, 0, "{}", plain.err);
    let never = list(&screen, "never");
    assert!(never.len() >= 5, "{never:?}");
    assert!(plain.out.contains(&format!("not for the hand ({})", never.len())), "{}", plain.out);
    for row in never {
        keys(row, &["target", "name", "reason"]);
        assert!(!list(&screen, "clearance").iter().any(|r| r["target"] == row["target"]), "{row} has a row as well");
        let said = |key| row[key].as_str().expect("a text");
        assert!(said("reason").ends_with('.'), "{row}");
        assert!(plain.out.contains(&format!("  {}: {}\n", said("name"), said("reason"))), "{row}");
    }
}

#[test]
fn the_check_contract_holds() {
    let good = run(&["check", &example("routine.toml"), "--json", "--today", DAY]);
    assert_eq!((good.code, &good.json()["ok"]), (0, &Value::Bool(true)), "{}", good.out);
    let text = std::fs::read_to_string(example("routine.toml")).expect("the example");
    let folder = Folder::new("check");
    let text = text.replace("answers = \"", &format!("answers = \"{}/", example("")));
    // Without its first step, the first opening is missing.
    let first = text.find("\n[[step]]").expect("a step");
    let second = text[first + 9..].find("\n[[step]]").expect("another") + first + 9;
    let path = folder.write("broken.toml", format!("{}{}", &text[..first], &text[second..]));
    let bad = run(&["check", &path, "--json", "--today", DAY]);
    assert_eq!(bad.code, 1, "{}{}", bad.out, bad.err);
    let report = bad.json();
    assert_eq!(report["ok"], false);
    assert!(!list(&report, "breaches").is_empty());
    for breach in list(&report, "breaches") {
        keys(breach, &["step", "rule", "message", "repair"]);
        assert!(
            !breach["message"].as_str().unwrap_or("").is_empty() && !breach["repair"].as_str().unwrap_or("").is_empty()
        );
    }
}

#[test]
fn a_breach_stands_under_its_step_and_side() {
    let folder = Folder::new("heading");
    let step =
        "[[step]]\ntarget = \"jaw_edge\"\nside = \"both\"\ntechnique = \"glide\"\npressure = \"light\"\nseconds = 8\n";
    let path = folder.write("routine.toml", format!("minutes = 8\naudience = true\n\n{step}"));
    let said = run(&["check", &path, "--today", DAY]);
    assert_eq!(said.code, 1, "{}{}", said.out, said.err);
    let heading = "\nStep 1: glide, along the edge of the jaw, both sides at once [";
    assert!(said.out.contains(heading), "{}", said.out);
    assert!(said.out.contains("\n  Glide, along the edge of the jaw, both sides at once: "), "{}", said.out);
}

#[test]
fn no_draft_is_told_with_its_smallest_release() {
    let folder = Folder::new("none");
    let request = folder.write("request.toml", "minutes = 8\nconcerns = [\"tight_jaw\"]\n");
    let said = run(&["draft", &request, "--json", "--today", DAY]);
    assert_eq!(said.code, 3);
    let none = said.json();
    assert!(list(&none, "steps").is_empty());
    assert!(!none["reason"].as_str().unwrap_or("").is_empty());
    assert!(!list(&none, "smallest_release").is_empty());
    let plain = run(&["draft", &request, "--today", DAY]);
    assert_eq!((plain.code, plain.out.as_str()), (3, ""));
    assert!(plain.err.contains("No clinician has reviewed"), "{}", plain.err);
    // Each open question once, on a line of its own, below one sentence.
    let answers = &list(&none, "smallest_release")[0];
    assert_eq!(answers["kind"], "answer");
    assert_eq!(plain.err.matches(none["reason"].as_str().expect("a reason")).count(), 1, "{}", plain.err);
    let asked: Vec<&str> = plain.err.lines().filter(|l| l.starts_with("  ")).map(str::trim).collect();
    assert_eq!(asked.len(), list(answers, "what").len(), "{}", plain.err);
    for question in asked {
        assert!(question.ends_with('?') && plain.err.matches(question).count() == 1, "{question} in {}", plain.err);
    }
}

#[test]
fn a_stop_is_waited_out() {
    let folder = Folder::new("stop");
    let _ = folder.write("answers.toml", std::fs::read(example("answers_stop.toml")).expect("the example"));
    let request = folder.write("request.toml", "minutes = 8\nconcerns = [\"tight_jaw\"]\nanswers = \"answers.toml\"\n");
    let said = run(&["draft", &request, "--json", "--today", DAY]);
    assert_eq!(said.code, 3, "{}", said.err);
    let none = said.json();
    assert_eq!(none["reason_kind"], "stop");
    let release = list(&none, "smallest_release");
    assert_eq!(
        (release.len(), &release[0]["kind"], &release[0]["what"]),
        (1, &"wait".into(), &none["rules"]),
        "{none}"
    );
    assert!(release[0]["text"].as_str().is_some_and(|t| t.starts_with("Wait")), "{none}");
}

#[test]
fn a_routine_for_an_audience_says_so_in_its_file() {
    let folder = Folder::new("audience");
    let out = folder.file("routine.toml");
    let said = run(&["draft", &example("request_audience.toml"), "--today", DAY, "--toml", &out]);
    assert_eq!(said.code, 0, "{}", said.err);
    let written = std::fs::read_to_string(&out).expect("a routine");
    let head: Vec<&str> = written.lines().take_while(|l| !l.is_empty()).collect();
    assert!(head.contains(&"audience = true") && !written.contains("answers ="), "{head:?}");
    assert_eq!(run(&["check", &out, "--today", DAY]).code, 0);
}

#[test]
fn everything_refused_is_refused_with_its_line() {
    let mut checked = 0;
    for (command, beginning) in [("screen", "answers"), ("draft", "request"), ("check", "routine")] {
        for name in examples_like("refused", beginning) {
            let path = example(&name);
            let said = run(&[command, &path, "--today", DAY]);
            assert_eq!((said.code, said.out.as_str()), (2, ""), "{name}");
            assert!(said.err.starts_with(&format!("{path}:")), "{name}: {}", said.err);
            let text = std::fs::read_to_string(&path).expect("the example");
            if let Some(expected) = text.lines().find_map(|l| l.strip_prefix("# expected: ")) {
                assert!(said.err.contains(&format!("{path}:{expected}")), "{name}: {}, not {expected}", said.err);
                checked += 1;
            }
        }
    }
    assert!(checked >= 15, "only {checked} examples say what is expected");
}

#[test]
fn files_that_cant_be_read_are_named() {
    let folder = Folder::new("files");
    let check = |path: &str, expected: &str| {
        for command in ["screen", "draft", "check"] {
            let said = run(&[command, path, "--today", DAY]);
            assert_eq!(said.code, 2, "{command} {path}");
            assert!(said.err.contains(expected), "{command} {path}: {}", said.err);
        }
    };
    check(&folder.file("missing.toml"), "can't be read");
    check(&folder.file(""), "folder");
    check(&folder.write("latin.toml", b"minutes = 8\n# caf\xe9\n"), ":2: this line holds bytes");
    check(&folder.write("long.toml", vec![b'#'; 5 << 20]), "longer than");
    let request = folder.write("request.toml", "minutes = 8\nconcerns = [\"tight_jaw\"]\nanswers = \"gone.toml\"\n");
    let said = run(&["draft", &request]);
    assert!(said.code == 2 && said.err.contains("gone.toml"), "{}", said.err);
    let into = run(&["draft", &example("request.toml"), "--today", DAY, "--svg", &folder.file("no/such/folder.svg")]);
    assert!(into.code == 2 && into.err.contains("can't be written"), "{}", into.err);
    let own = folder.write("own.toml", std::fs::read(example("request_door.toml")).expect("the example"));
    let _ = folder.write("answers.toml", std::fs::read(example("answers.toml")).expect("the example"));
    let over = run(&["draft", &own, "--today", DAY, "--toml", &own]);
    assert!(over.code == 2 && over.err.contains("being read"), "{}", over.err);
}

#[test]
fn standard_input_and_a_reader_that_leaves() {
    let answers = std::fs::read(example("answers_full.toml")).expect("the example");
    assert_eq!(run_with(&["screen", "-", "--json", "--today", DAY], &answers).code, 0);
    assert_eq!(run_with(&["draft", "-"], b"").code, 2);
    let mut child = program()
        .args(["screen", &example("answers_full.toml"), "--json"])
        .stdout(std::process::Stdio::piped())
        .stderr(std::process::Stdio::piped())
        .spawn()
        .expect("it starts");
    drop(child.stdout.take());
    let ended = child.wait_with_output().expect("it ends");
    assert_eq!(ended.status.code(), Some(0), "{}", String::from_utf8_lossy(&ended.stderr));
    assert!(ended.stderr.is_empty(), "{}", String::from_utf8_lossy(&ended.stderr));
}

#[test]
fn calls_that_are_wrong_say_so_and_help_is_no_error() {
    for args in [
        &["dance"][..],
        &["draft"],
        &["draft", "a", "b"],
        &["screen", "x", "--today", "2026-02-30"],
        &["desk", "--port", "x"],
    ] {
        let said = run(args);
        assert!(said.code == 2 && said.out.is_empty() && !said.err.is_empty(), "{args:?}: {}", said.err);
    }
    for args in
        [&["--help"][..], &["--version"], &["draft", "--help"], &["completions", "bash"], &["completions", "fish"]]
    {
        let said = run(args);
        assert!(said.code == 0 && said.out.len() > 10 && said.err.is_empty(), "{args:?}: {}", said.err);
    }
}

#[test]
fn an_own_atlas_merges_and_a_broken_one_is_refused() {
    let folder = Folder::new("atlas");
    let cycle = folder
        .write("own.toml", "[[zone]]\nid = \"outlet\"\nname = \"hollow\"\nsides = \"lateral\"\nnext = \"neck_side\"\n");
    let said = run(&["draft", &example("request.toml"), "--atlas", &cycle]);
    assert_eq!(said.code, 2);
    assert!(said.err.starts_with(&format!("{cycle}:")), "{}", said.err);
}

#[test]
fn the_drawing_and_the_problem_are_written() {
    let folder = Folder::new("written");
    let (svg, instance) = (folder.file("o.svg"), folder.file("o.json"));
    let request = example("request.toml");
    let said = run(&["draft", &request, "--today", DAY, "--svg", &svg, "--instance", &instance]);
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.out.contains("No clinician has reviewed") && said.out.contains("Why:"), "{}", said.out);
    let drawing = std::fs::read_to_string(svg).expect("a drawing");
    assert!(drawing.starts_with("<svg") && drawing.contains("<title") && !drawing.contains("<script"));
    let problem: Value = serde_json::from_str(&std::fs::read_to_string(instance).expect("a problem")).expect("JSON");
    keys(
        &problem,
        &["format", "places", "items", "oil", "transitions", "budget_s", "side_mode", "targets_per_zone_side"],
    );
    assert!(!list(&problem, "items").is_empty());
    let item = &list(&problem, "items")[0];
    keys(item, &["target", "kind", "weight", "lap_s", "zone", "zone_rank", "target_rank", "sides", "required"]);
    let option = &list(item, "options")[0];
    keys(option, &["technique", "technique_fit", "tool", "tool_fit", "needs_oil", "seconds", "gain", "ways", "counts"]);
    assert!(item["weight"].as_u64() > Some(0) && option["technique_fit"].as_u64() >= Some(70), "{option}");
    assert!(problem["impossible"].is_null());
}

#[test]
fn a_request_without_a_problem_says_why_in_its_file() {
    let folder = Folder::new("impossible");
    let (request, instance) =
        (folder.write("r.toml", "minutes = 5\nconcerns = [\"tight_jaw\"]\n"), folder.file("o.json"));
    assert_eq!(run(&["draft", &request, "--today", DAY, "--instance", &instance]).code, 3);
    let problem: Value = serde_json::from_str(&std::fs::read_to_string(instance).expect("a file")).expect("JSON");
    assert!(problem["impossible"].as_str().is_some_and(|why| why.contains("questions are still open")), "{problem}");
    assert!(list(&problem, "items").is_empty());
}
