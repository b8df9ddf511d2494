//! Journeys of `tragion follow`: the examples of its documentation, the JSON contract, the verdicts, and bad input.

mod house;

use std::fmt::Write;

use house::{Folder, Said, run, run_with};
use serde_json::Value;

const HEAD: &str = "date,side,value,visit,photo,worked\n";
/// Days of the usual plan: five before, every third day after; day 1 is 2026-03-02.
const BEFORE: [i64; 5] = [-14, -11, -8, -5, -2];
const AFTER: [i64; 10] = [1, 4, 7, 10, 13, 16, 19, 22, 25, 28];

fn date(day: i64) -> String {
    let first = vocab::Date::new(2026, 3, 2).expect("a day");
    first.plus(day - 1).expect("a day").to_string()
}

/// Two photographs of two sides at each of these visits, around a level that goes lower by `less` from day 1 on. The scatter is written down,
/// not drawn: about 0.3 between days and 0.1 between photographs.
fn series(days: &[i64], less: f64) -> String {
    const DAY: [f64; 7] = [0.2, -0.3, 0.1, -0.1, 0.3, -0.2, 0.0];
    let mut rows = HEAD.to_owned();
    for (n, day) in days.iter().enumerate() {
        let level = 6.0 + DAY[n % 7] - if *day >= 1 { less } else { 0.0 };
        let worked = if *day >= 1 { "yes" } else { "no" };
        for (photo, off) in [("a", 0.08), ("b", -0.08)] {
            for (side, uneven) in [("left", 0.4), ("right", -0.4)] {
                let value = level + off + uneven;
                writeln!(rows, "{},{side},{value:.2},v{n},{photo},{worked}", date(*day)).expect("a row");
            }
        }
    }
    rows
}

fn usual(less: f64) -> String {
    series(&[&BEFORE[..], &AFTER].concat(), less)
}

fn follow(name: &str, text: &str, more: &[&str]) -> Said {
    let folder = Folder::new(name);
    let file = folder.write("series.csv", text);
    run(&[&["follow", &file], more].concat())
}

fn answer(name: &str, text: &str, more: &[&str]) -> Value {
    let said = follow(name, text, &[&["--json"], more].concat());
    assert_eq!(said.code, 0, "{name}: {}", said.err);
    said.json()
}

fn planned(name: &str, text: &str, plan: &str, today: &str) -> Value {
    let folder = Folder::new(name);
    let plan = folder.write("plan.toml", plan);
    answer(name, text, &["--plan", &plan, "--today", today])
}

#[test]
fn the_examples_of_the_documentation_answer_as_it_says() {
    let text = include_str!("../../../docs/series.md");
    let block = |text: &str, kind: &str| {
        let (_, rest) = text.split_once(&format!("```{kind}\n"))?;
        rest.split_once("```").map(|(block, _)| block.to_owned())
    };
    let examples: Vec<&str> = text.split("\n### ").skip(1).collect();
    assert_eq!(examples.len(), 3);
    for (n, example) in examples.into_iter().enumerate() {
        let folder = Folder::new(&format!("example-{n}"));
        let rows = block(example, "csv").expect("a series");
        if n == 0 {
            assert_eq!(std::fs::read_to_string(house::example("series.csv")).expect("the example"), rows);
        }
        let series = folder.write("series.csv", rows);
        let today = example.split_once(" --today ").map_or("2026-12-01", |(_, rest)| &rest[..10]);
        let mut args = vec!["follow".to_owned(), series, "--today".to_owned(), today.to_owned()];
        if let Some(plan) = block(example, "toml") {
            args.extend(["--plan".to_owned(), folder.write("plan.toml", plan)]);
        }
        let said = run(&args.iter().map(String::as_str).collect::<Vec<_>>());
        assert_eq!(said.code, 0, "{}", said.err);
        let trimmed = |t: &str| t.lines().map(str::trim_end).collect::<Vec<_>>().join("\n").trim().to_owned();
        assert_eq!(trimmed(&said.out), trimmed(&block(example, "text").expect("an answer")), "example {n}");
    }
}

#[test]
fn the_values_of_the_documentation_are_those_there_are() {
    let text = include_str!("../../../docs/series.md").replace('\u{2212}', "-");
    for value in &follow::VALUES {
        let name = format!("`{}`", value.name);
        let rows: Vec<Vec<&str>> = text
            .lines()
            .map(|l| l.split('|').map(str::trim).collect::<Vec<_>>())
            .filter(|cells| cells.len() == 7 && cells[1].contains(&name))
            .collect();
        let [row] = rows.as_slice() else { panic!("{name} has {} rows", rows.len()) };
        let [low, high] = value.range;
        assert_eq!(row[3], format!("{low} to {high}"), "{name}");
        assert_eq!(row[4], value.size.to_string(), "{name}");
        assert_eq!(row[5], format!("{}, {}", value.between, value.within), "{name}");
        assert!(row[2].contains(value.unit), "{name}: {}", row[2]);
    }
}

#[test]
fn the_contract_of_the_answer_holds() {
    let said = answer("contract", &usual(2.5), &[]);
    let keys =
        ["value", "unit", "baseline", "change", "verdict", "visible", "visits_to_settle", "trend", "sides", "dose"];
    for key in keys {
        assert!(said.get(key).is_some(), "`{key}` is missing in {said}");
    }
    assert_eq!((said["value"].as_str(), said["unit"].as_str()), (Some("dE00"), Some("dE00")));
    let baseline = &said["baseline"];
    assert_eq!((baseline["n"].as_u64(), baseline["source"].as_str()), (Some(5), Some("stated")));
    let number = |v: &Value| v.as_f64().unwrap_or_else(|| panic!("{v} is no number"));
    assert!((number(&baseline["mean"]) - 6.04).abs() < 1e-6, "{baseline}");
    let (sem, mdc) = (number(&baseline["sem"]), number(&baseline["mdc95"]));
    assert!(sem > 0.0 && (mdc - 1.96 * 2f64.sqrt() * sem).abs() < 1e-5, "{baseline}");
    let change = &said["change"];
    let (low, estimate, high) = (number(&change["low"]), number(&change["estimate"]), number(&change["high"]));
    assert!(low < estimate && estimate < high && low <= -2.5 && -2.5 <= high, "{change}");
    assert_eq!(said["verdict"], "clear_change");
    assert!(said["visible"].is_null() || said["visible"].is_boolean());
    assert!(said["visits_to_settle"].is_null() && said["sides"].is_null(), "{said}");
    if let Some(trend) = said["trend"].as_object() {
        assert!(["slope_per_day", "low", "high", "method"].iter().all(|k| trend.contains_key(*k)), "{trend:?}");
    }
    let dose = said["dose"].as_object().expect("a dose");
    assert!(["done", "asked", "association"].iter().all(|k| dose.contains_key(*k)), "{dose:?}");
    assert_eq!(said["dose"]["done"], 10);
    assert_eq!((said["visits"].as_array().map(Vec::len), said["look_day"].as_i64()), (Some(15), Some(28)));
    assert_eq!((said["first"].as_str(), said["today"].as_str()), (Some("2026-03-02"), Some("2026-03-29")));
}

#[test]
fn each_verdict_comes_from_a_series_that_has_it() {
    let clear = answer("clear", &usual(3.5), &[]);
    assert_eq!((clear["verdict"].as_str(), clear["visible"].as_bool()), (Some("clear_change"), Some(true)));
    let up = answer("up", &usual(-3.5), &[]);
    assert!(up["sentence"].as_str().is_some_and(|s| s.contains("moved away from")), "{up}");
    let noise = answer("noise", &usual(0.0), &[]);
    assert_eq!(noise["verdict"], "within_noise");
    assert!(
        noise["sentence"].as_str().is_some_and(|s| s.starts_with("Nothing has changed beyond the noise")),
        "{noise}"
    );
    assert!(noise["power"].as_f64().is_some_and(|p| p >= 0.8));
    let few = answer("few", &series(&[&BEFORE[3..], &AFTER].concat(), 2.5), &[]);
    assert_eq!((few["verdict"].is_null(), few["reason_kind"].as_str()), (true, Some("few_baseline")));
    assert!(few["reason"].as_str().is_some_and(|r| r.contains("only two days")) && few["change"].is_null(), "{few}");
    let plan = "first = 2026-03-02\n";
    let early = planned("early", &series(&[&BEFORE[..], &AFTER[..3]].concat(), 2.5), plan, "2026-03-09");
    assert_eq!((early["verdict"].as_str(), early["reason_kind"].as_str()), (Some("too_early"), Some("before_look")));
    assert!(early["sentence"].as_str().is_some_and(|s| s.contains("day 28 (29 March 2026)")), "{early}");
    let stopped = planned("stopped", &series(&[&BEFORE[..], &AFTER[..3]].concat(), 2.5), plan, "2026-04-09");
    assert_eq!(
        (stopped["verdict"].as_str(), stopped["reason_kind"].as_str()),
        (Some("too_early"), Some("no_visit_now"))
    );
    let later = planned("later", &usual(3.5), "measure_later = true\n", "2026-04-09");
    assert_eq!((later["verdict"].is_null(), later["reason_kind"].as_str()), (true, Some("measure_later")));
}

/// Fifteen visits of which one lies far off: on the day before the look slope, association and mark are kept back, on its day they are told.
#[test]
fn nothing_is_told_of_the_run_before_the_look() {
    let rows = usual(2.5).replace(&format!("{},left,", date(10)), &format!("{},left,1", date(10)));
    let cut: String = rows.lines().filter(|l| !l.starts_with(&date(28))).map(|l| format!("{l}\n")).collect();
    let odd = |said: &Value| {
        let visits = said["visits"].as_array().expect("visits");
        visits.iter().filter(|v| v["odd"] == true).count()
    };
    let plan = "first = 2026-03-02\n";
    let before = planned("run-before", &cut, plan, "2026-03-28");
    assert_eq!(before["reason_kind"], "before_look");
    assert!(before["trend"].is_null() && before["dose"]["association"].is_null(), "{before}");
    assert_eq!((odd(&before), before["dose"]["done"].as_u64()), (0, Some(9)));
    let at = planned("run-at", &rows, plan, "2026-03-29");
    assert!(at["trend"].is_object() && at["dose"]["association"].is_object() && odd(&at) > 0, "{at}");
}

#[test]
fn a_plan_is_followed_to_its_keys() {
    let two = planned("two", &usual(3.5), "looks = 2\ndays_a_week = 5\ntone = \"very_light\"\n", "2026-04-09");
    assert_eq!((two["earlier"]["day"].as_i64(), two["change"]["level"].as_f64()), (Some(14), Some(0.955)));
    assert_eq!((two["visible"].as_bool(), two["dose"]["asked"].as_u64()), (Some(true), Some(20)));
    let half = planned("half", &series(&[&BEFORE[..], &AFTER[..5]].concat(), 3.5), "looks = 2\n", "2026-03-16");
    assert_eq!((half["look_day"].as_i64(), half["change"]["level"].as_f64()), (Some(14), Some(0.995)));
    let given = planned("given", &usual(0.0), "between_sd = 0.4\nwithin_sd = 0.1\nsize = 1.5\n", "2026-04-09");
    assert_eq!((given["baseline"]["source"].as_str(), given["size"].as_f64()), (Some("given"), Some(1.5)));
    let tighter = |v: &Value| v["change"]["high"].as_f64().zip(v["change"]["low"].as_f64()).map(|(h, l)| h - l);
    assert!(tighter(&given) < tighter(&planned("wide", &usual(0.0), "between_sd = 1.6\n", "2026-04-09")));
    let short = planned("short", &usual(0.0), "days = 21\n", "2026-04-09");
    assert_eq!((short["look_day"].as_i64(), short["now"]["n"].as_u64()), (Some(21), Some(2)));
    assert!(short["notes"][0].as_str().is_some_and(|n| n.contains("3 visits lie after the last day")), "{short}");
    let mut said = String::from("date,value,worked\n");
    for (n, day) in BEFORE.iter().chain(&AFTER).enumerate() {
        let points = if *day >= 1 { 7 } else { 3 } + n % 2;
        writeln!(said, "{},{points},{}", date(*day), if *day >= 1 { "yes" } else { "no" }).expect("a row");
    }
    let sleep = planned("sleep", &said, "value = \"sleep\"\n", "2026-04-09");
    assert_eq!((sleep["value"].as_str(), sleep["unit"].as_str()), (Some("sleep"), Some("points")));
    assert!(sleep["visible"].is_null() && sleep["verdict"] == "clear_change", "{sleep}");
}

#[test]
fn a_worked_side_is_compared_with_the_other() {
    let mut rows = HEAD.to_owned();
    for (n, day) in BEFORE.iter().chain(&AFTER).enumerate() {
        let common = [0.3, -0.2, 0.1, -0.3][n % 4];
        for photo in ["a", "b"] {
            let (less, worked) = if *day >= 1 { (3.0, "yes") } else { (0.0, "no") };
            writeln!(rows, "{},left,{:.2},,{photo},{worked}", date(*day), 6.0 + common - less).expect("a row");
            writeln!(rows, "{},right,{:.2},,{photo},no", date(*day), 6.2 + common).expect("a row");
        }
    }
    // The rows themselves say that the left is worked alone; a plan says it too.
    for said in [answer("sides", &rows, &[]), planned("side-plan", &rows, "side = \"left\"\n", "2026-04-09")] {
        assert_eq!(said["followed"], "left");
        let sides = &said["sides"];
        let of = |k: &str| sides[k].as_f64().unwrap_or_else(|| panic!("{sides}"));
        assert!(of("low") <= -3.0 && -3.0 <= of("high") && of("high") < 0.0, "{sides}");
        assert_eq!(sides["method"], "worked_less_unworked");
    }
    let folder = Folder::new("side-wrong");
    let plan = folder.write("plan.toml", "side = \"right\"\n");
    let wrong = follow("side-wrong", &rows, &["--plan", &plan]);
    assert_eq!(wrong.code, 2);
    assert!(
        wrong.err.contains("series.csv:22: here is a session that is not on the right side alone"),
        "{}",
        wrong.err
    );
}

#[test]
fn tables_are_read_as_spreadsheets_write_them() {
    let plain = answer("plain", &usual(2.5), &[]);
    let same = |name: &str, text: &str| {
        let said = answer(name, text, &[]);
        assert_eq!((&said["change"], &said["visits"]), (&plain["change"], &plain["visits"]), "{name}");
        said
    };
    same("mark", &format!("\u{feff}{}", usual(2.5)));
    same("windows", &usual(2.5).replace('\n', "\r\n"));
    let semicolons = usual(2.5).replace(',', ";").replace('.', ",");
    same("semicolons", &semicolons);
    same("blank", &usual(2.5).replace("no\n", "no\n\n,,,,,\n"));
    let turned: String = usual(2.5)
        .lines()
        .map(|l| {
            let mut f: Vec<&str> = l.split(',').collect();
            f.reverse();
            format!("{},{}\n", f.join(","), if l.starts_with("date") { "camera" } else { "x" })
        })
        .collect();
    let said = same("turned", &turned);
    assert_eq!(said["notes"][0], "Columns that are not read: `camera`.");
    // Without labels the first left belongs to the first right.
    let bare: String = usual(2.5)
        .lines()
        .map(|l| {
            let f: Vec<&str> = l.split(',').collect();
            format!("{},{},{},{}\n", f[0], f[1], f[2], f[5])
        })
        .collect();
    assert_eq!(answer("bare", &bare, &[])["change"], plain["change"]);
    let piped = run_with(&["follow", "-", "--json"], usual(2.5).as_bytes());
    assert_eq!((piped.code, &piped.json()["change"]), (0, &plain["change"]));
    // A photograph with one side is not mixed in.
    let single = format!("{}{},left,1.0,v14,c,yes\n", usual(2.5), date(28));
    let said = same("single", &single);
    assert!(said["notes"][0].as_str().is_some_and(|n| n.contains("line 62")), "{said}");
    let left: String = usual(2.5).lines().filter(|l| !l.contains(",right,")).map(|l| format!("{l}\n")).collect();
    assert_eq!(answer("left", &left, &[])["followed"], "left");
}

#[test]
fn every_bad_row_is_named_with_its_line() {
    let good = |rows: &str| format!("{HEAD}2026-02-27,left,6.0,,a,no\n2026-03-02,left,6.1,,a,yes\n{rows}");
    for (name, text, wanted) in [
        ("empty", String::new(), ":1: the file is empty"),
        ("blank", "\n\n".to_owned(), ":1: the file is empty"),
        ("head", HEAD.to_owned(), ": there is no row beneath the headings"),
        (
            "missing",
            "date,side,vlaue,worked\n".to_owned(),
            ":1: there is no heading `value`: is `vlaue` meant to be it?",
        ),
        ("twice", "date,value,worked,Value\n".to_owned(), ":1: the heading `value` stands twice"),
        ("date", good("2026-02-30,left,6.0,,a,no\n"), ":4: `2026-02-30` is no date"),
        ("german", good("2.3.2026,left,6.0,,a,no\n"), ":4: `2.3.2026` is no date"),
        ("side", good("2026-03-04,lefft,6.0,,a,no\n"), ":4: `lefft` is no side"),
        ("word", good("2026-03-04,left,six,,a,no\n"), ":4: `six` is no number"),
        ("nan", good("2026-03-04,left,NaN,,a,no\n"), ":4: `NaN` is no number"),
        ("inf", good("2026-03-04,left,1e999,,a,no\n"), ":4: `1e999` is no number"),
        ("range", good("2026-03-04,left,-3,,a,no\n"), ":4: `-3` can't be a value of dE00"),
        ("high", good("2026-03-04,left,600,,a,no\n"), ":4: `600` can't be a value of dE00"),
        ("worked", good("2026-03-04,left,6.0,,a,maybe\n"), ":4: `maybe` does not say whether"),
        ("unsaid", good("2026-03-04,left,6.0,,a,\n"), ":4: `` does not say whether"),
        ("photo", good("2026-03-02,left,6.0,,a,yes\n"), ":4: this photograph and side stand in line 3 already"),
        ("whole", good("2026-03-02,face,6.0,,a,yes\n"), ":4: line 3 has this photograph as a whole face or as a side"),
        ("against", good("2026-03-02,left,6.0,,b,no\n"), ":4: line 3 says otherwise"),
        ("face-against", good("2026-03-02,face,6.0,,b,no\n"), ":4: line 3 says otherwise"),
        (
            "visit",
            good("2026-03-04,left,6.0,x,a,no\n2026-03-05,left,6.0,x,b,no\n"),
            ":5: line 4 has the same visit on another day",
        ),
        ("fields", good("2026-03-04,left,6.0,a\n"), ":4: this row has 4 fields, the headings 6"),
        ("long", good("2029-03-04,left,6.0,,a,no\n"), ":4: this is more than 800 days after"),
        ("label", good(&format!("2026-03-04,left,6.0,,{},no\n", "x".repeat(201))), ":4: `photo` is longer than 200"),
        ("idle", format!("{HEAD}2026-02-27,left,6.0,,a,no\n"), ": no row says `yes` under `worked`"),
        ("valueless", format!("{HEAD}2026-02-27,left,,,a,yes\n"), ": no row has a value"),
        (
            "pairs",
            good("2026-03-04,right,6.0,,b,yes\n"),
            ": there are left and right sides, but no photograph has both",
        ),
    ] {
        let said = follow(name, &text, &[]);
        assert_eq!((said.code, said.out.as_str()), (2, ""), "{name}: {}", said.err);
        assert!(said.err.contains(&format!("series.csv{wanted}")), "{name}: {}", said.err);
    }
    // All of them at once, in order, and not without end.
    let many = follow("many", &good(&"x,y,z,,a,w\n".repeat(30)), &[]);
    assert!(many.err.lines().count() == 21 && many.err.contains("and 100 more"), "{}", many.err);
    let rows: String = (0..20_001).map(|n| format!("2026-03-02,face,6.0,,p{n},yes\n")).collect();
    assert!(follow("rows", &format!("{HEAD}{rows}"), &[]).err.contains(":20002: there are more than 20000 rows"));
    let latin = Folder::new("latin");
    let file = latin.write("series.csv", b"date,value,worked\n2026-03-02,6,\xe9\n");
    assert!(run(&["follow", &file]).err.contains("series.csv:2: this line holds bytes that are not text"));
    let gone = run(&["follow", "there/is/no/such.csv"]);
    assert!(gone.code == 2 && gone.err.contains("can't be read"), "{}", gone.err);
}

#[test]
fn a_bad_plan_is_named_with_its_line() {
    for (name, plan, wanted) in [
        ("key", "value = \"dE00\"\nlook = 1\n", ":2: unknown key `look`; did you mean `looks`?"),
        ("value", "value = \"de00\"\n", ":1: `value` names `de00`, which is not known; did you mean `dE00`?"),
        ("unit", "unit = \"dE00\"\n", ":1: unknown key `unit`"),
        ("days", "days = 3\n", ":1: `days` is 3, but must be from 7 to 366"),
        ("size", "size = 0\n", ":1: `size` must be a number from 0.002 to 60"),
        ("nan", "size = nan\n", ":1: `size` must be a number"),
        ("first", "first = \"soon\"\n", ":1: `first` must be a date"),
        ("side", "side = \"middle\"\n", ":1: `side` names `middle`"),
        ("syntax", "days = = 28\n", ":1: this is not valid TOML"),
    ] {
        let folder = Folder::new(&format!("plan-{name}"));
        let plan = folder.write("plan.toml", plan);
        let said = follow(&format!("for-{name}"), &usual(0.0), &["--plan", &plan]);
        assert_eq!(said.code, 2, "{name}: {}", said.out);
        assert!(said.err.contains(&format!("plan.toml{wanted}")), "{name}: {}", said.err);
    }
    let folder = Folder::new("plan-first");
    let plan = folder.write("plan.toml", "first = 2026-03-10\n");
    let said = follow("before", &usual(0.0), &["--plan", &plan]);
    assert!(said.code == 2 && said.err.contains("before the first worked day of the plan"), "{}", said.err);
}
