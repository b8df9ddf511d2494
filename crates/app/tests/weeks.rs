//! The weeks of one client: a plan, its days, its end, the follow-up.

#[path = "weeks/filled.rs"]
mod filled;
mod house;

use std::path::Path;

use house::{Answer, DAY, Desk, Folder, PASSPHRASE};
use vocab::Date;

/// A client with consent to care; their number.
fn client(desk: &Desk, name: &str) -> String {
    let added = desk.post("/clients/new", &format!("name={name}"));
    assert_eq!(added.status, 303, "{}", added.body);
    let id = place(&added).rsplit('/').next().expect("a number").to_owned();
    let given = desk.post(&format!("/clients/{id}/consent"), "kind=care&given=yes");
    assert_eq!(given.status, 303, "{}", given.body);
    id
}

fn place(answer: &Answer) -> String {
    let line = answer.head.lines().find_map(|l| l.strip_prefix("location: "));
    line.unwrap_or_else(|| panic!("no way on: {} {}", answer.head, answer.body))
        .split('?')
        .next()
        .unwrap_or_default()
        .to_owned()
}

/// A plan that begins on this day.
fn plan(first: &str, more: &str) -> String {
    format!(
        "first={first}&days=28&days_a_week=7&times=21%3A30&value=dE00&size=2&baseline=5&every=3&photographs=2&looks=1&side=both&do=keep{more}"
    )
}

fn begin(desk: &Desk, id: &str, form: &str) -> String {
    let kept = desk.post(&format!("/clients/{id}/weeks/new"), form);
    assert_eq!(kept.status, 303, "{}", kept.body);
    place(&kept)
}

fn shows(answer: &Answer, words: &[&str]) {
    assert_eq!(answer.status, 200, "{}", answer.body);
    for word in words {
        assert!(answer.body.contains(word), "no “{word}” in {}", answer.body);
    }
}

#[test]
fn a_plan_is_reckoned_kept_and_stands_in_words() {
    let desk = Desk::inside();
    let id = client(&desk, "Ada");
    let blank = desk.get(&format!("/clients/{id}/weeks/new"));
    shows(&blank, &["What these days would find", "would be found in 80 of 100.", "2026-03-16"]);
    // Looking keeps nothing.
    let look = desk.post(
        &format!("/clients/{id}/weeks/new"),
        &plan("2026-03-16", "").replace("do=keep", "do=look").replace("size=2", "size=0.1"),
    );
    shows(&look, &["A change of 0.1\u{a0}dE00 can't be found", "value=\"0.1\""]);
    shows(&desk.get(&format!("/clients/{id}")), &["No weeks are planned."]);
    // In an address it is the same form.
    let from_address =
        desk.get(&format!("/clients/{id}/weeks/new?{}", plan("2026-03-16", "").replace("baseline=5", "baseline=2")));
    shows(&from_address, &["With 2 baseline days there is no verdict: three at least are needed."]);

    let at = begin(&desk, &id, &plan("2026-03-16", "&others=brow"));
    let page = desk.get(&at);
    shows(
        &page,
        &[
            "28 days, from 16 March 2026 to 12 April 2026: a session every day, at 21:30.",
            "A change of 2\u{a0}dE00 matters.",
            "The plan looks once, on 12 April 2026.",
            "It can still be changed or taken out",
            "The first session is on 16 March 2026, in 15 days.",
        ],
    );
    shows(&desk.get(&format!("/clients/{id}")), &["Plan and days", &at]);
    let follow = desk.get(&format!("{at}/follow"));
    shows(
        &follow,
        &["How they felt", "There is no verdict", "No visit has given this value yet.", "regression to the mean"],
    );
}

#[test]
fn what_is_typed_wrong_is_said_and_nothing_is_lost() {
    let desk = Desk::inside();
    let id = client(&desk, "Bea");
    let new = format!("/clients/{id}/weeks/new");
    let again = desk
        .post(&new, &plan("2026-02-20", "&others=brown").replace("days=28", "days=900").replace("size=2", "size=much"));
    assert_eq!(again.status, 422);
    for word in
        ["value=\"2026-02-20\"", "value=\"900\"", "value=\"much\"", "has gone by", "can't be the size of a change"]
    {
        assert!(again.body.contains(word), "no {word}: {}", again.body);
    }
    assert!(again.body.contains("value=\"brown\" checked"), "{}", again.body);
    assert_eq!(again.body.matches("aria-invalid=\"true\"").count(), 3);
    shows(&desk.get(&format!("/clients/{id}")), &["No weeks are planned."]);

    let at = begin(&desk, &id, &plan("2026-03-01", ""));
    let day = desk.post(
        &format!("{at}/day"),
        "day=2026-03-01&done=yes&minutes=8&before_relaxed=12&words=calm+%3Cb%3E&context=cold",
    );
    assert_eq!(day.status, 422);
    for word in ["value=\"12\"", "calm &lt;b&gt;", "A whole number from 0 to 10 can.", "value=\"cold\" checked"] {
        assert!(day.body.contains(word), "no {word}: {}", day.body);
    }
    let late = desk.post(&format!("{at}/day"), "day=2026-03-02&done=no");
    assert_eq!(late.status, 422, "tomorrow can't be typed");
    let end = desk.post(&format!("{at}/end"), "last=2026-03-01&reason=+");
    assert_eq!(end.status, 422);
    let odd = desk.post(&format!("{at}/end"), "last=2026-04-01&reason=a+%3Cb%3E+reason");
    assert_eq!(odd.status, 422);
    assert!(end.body.contains("without a reason weeks can't end early"), "{}", end.body);
}

#[test]
fn a_typed_day_is_kept_and_can_be_seen_again() {
    let desk = Desk::inside();
    let id = client(&desk, "Cleo");
    let at = begin(&desk, &id, &plan("2026-03-01", "").replace("baseline=5", "baseline=0"));
    shows(&desk.get(&at), &["Day 1 of 28.", "Today's session.", "It can still be changed or taken out"]);
    let form = "day=2026-03-01&done=yes&minutes=8&before_relaxed=3&before_sleep=6&after_relaxed=7&context=short_night&cycle=12&words=jaw+softer";
    assert_eq!(desk.post(&format!("{at}/day"), form).status, 303);
    let again = desk.get(&format!("{at}?day=2026-03-01"));
    assert!(again.body.contains("It has begun, and stays as it is."), "{}", again.body);
    for word in [
        "value=\"8\"",
        "value=\"3\"",
        "value=\"7\"",
        "value=\"12\"",
        "jaw softer",
        "value=\"short_night\" checked",
        "session done",
    ] {
        assert!(again.body.contains(word), "no {word}: {}", again.body);
    }
    assert!(!again.body.contains("Today's session."), "{}", again.body);
    // Changed, not doubled.
    assert_eq!(desk.post(&format!("{at}/day"), &form.replace("minutes=8", "minutes=9")).status, 303);
    shows(&desk.get(&format!("{at}?day=2026-03-01")), &["value=\"9\""]);
    // Typed on the form of another day, it is shown and not typed over.
    let other = desk.post(&format!("{at}/day"), "day=2026-03-01&shown=2026-02-28&done=no&words=quite+other");
    assert_eq!(other.status, 422);
    assert!(
        ["is kept already", "value=\"9\"", "jaw softer", "quite other"].iter().all(|w| other.body.contains(w)),
        "{}",
        other.body
    );
    shows(&desk.get(&format!("{at}?day=2026-03-01")), &["value=\"9\"", "jaw softer"]);
    // Before the plan looks no change is told, not even that of one evening.
    let follow = desk.get(&format!("{at}/follow"));
    shows(&follow, &["How relaxed it felt", "Short night", "day 12 of the cycle"]);
    assert!(!follow.body.contains("After a session it was"), "{}", follow.body);
}

#[test]
fn a_plan_that_has_begun_stays_and_ends_early_only_with_a_reason() {
    let desk = Desk::inside();
    let id = client(&desk, "Dora");
    let open = begin(&desk, &id, &plan("2026-03-20", ""));
    shows(&desk.get(&format!("{open}/change")), &["value=\"2026-03-20\""]);
    assert_eq!(desk.post(&format!("{open}/change"), &plan("2026-03-22", "")).status, 303);
    shows(&desk.get(&open), &["22 March 2026"]);
    assert_eq!(desk.post(&format!("{open}/remove"), "").status, 303);
    assert_eq!(desk.get(&open).status, 404);

    let at = begin(&desk, &id, &plan("2026-03-01", ""));
    assert_eq!(desk.post(&format!("{at}/day"), "day=2026-03-01&done=no&before_sleep=5").status, 303);
    shows(&desk.get(&at), &["It has begun, and stays as it is."]);
    for way in ["change", "remove"] {
        let refused = desk.post(&format!("{at}/{way}"), &plan("2026-03-02", ""));
        assert!(refused.status >= 400, "{way}: {}", refused.status);
    }
    shows(&desk.get(&at), &["28 days, from 1 March 2026"]);
    let ended = desk.post(&format!("{at}/end"), "last=2026-03-01&reason=moved+away");
    assert_eq!(ended.status, 303, "{}", ended.body);
    shows(&desk.get(&at), &["Ended early, on 1 March 2026: moved away"]);
    shows(&desk.get(&format!("{at}/follow")), &["moved away"]);
    assert!(desk.post(&format!("{at}/end"), "last=2026-03-01&reason=again").status >= 400, "ended once");
}

#[test]
fn everybody_whose_weeks_run_is_on_one_page() {
    let desk = Desk::inside();
    shows(&desk.get("/weeks"), &["Nobody's weeks run today.", "/courses"]);
    let (id, other) = (client(&desk, "Eva"), client(&desk, "Flo"));
    begin(&desk, &id, &plan("2026-03-01", ""));
    begin(&desk, &other, &plan("2026-09-01", ""));
    let all = desk.get("/weeks");
    shows(&all, &["Eva", "A visit, with two photographs.", "Today's session."]);
    assert!(!all.body.contains("Flo"), "{}", all.body);
    shows(&desk.get("/due"), &["The weeks ask for a visit today:", "Eva"]);
}

#[test]
fn another_clients_weeks_are_not_found_and_care_needs_its_consent() {
    let desk = Desk::inside();
    let (id, other) = (client(&desk, "Gia"), client(&desk, "Hope"));
    let at = begin(&desk, &id, &plan("2026-03-01", ""));
    let weeks = at.rsplit('/').next().expect("a number");
    for way in ["", "/follow", "/change"] {
        assert_eq!(desk.get(&format!("/clients/{other}/weeks/{weeks}{way}")).status, 404, "{way}");
    }
    assert_eq!(desk.post(&format!("/clients/{other}/weeks/{weeks}/remove"), "").status, 404);
    assert_eq!(desk.post(&format!("/clients/{id}/consent"), "kind=care&given=no").status, 303);
    for way in [at.clone(), format!("{at}/follow"), format!("/clients/{id}/weeks/new")] {
        let refused = desk.get(&way);
        assert!(refused.status >= 400 && refused.body.contains("consent"), "{way}: {}", refused.status);
    }
    assert!(!desk.get("/weeks").body.contains("Gia"));
}

/// A desk on a practice in which weeks have run, and the addresses of the weeks in the order of the stories.
fn filled() -> (Desk, Vec<String>) {
    let folder = Folder::new(&house::unique("filled"));
    let day = Date::parse(DAY).expect("a day");
    let clients = filled::fill(Path::new(&folder.file("cabinet")), PASSPHRASE, day, &filled::stories());
    let desk = Desk::inside_of(folder);
    let at =
        clients.expect("a practice").into_iter().enumerate().map(|(i, id)| format!("/clients/{id}/weeks/{}", i + 1));
    (desk, at.collect())
}

/// The text of the element that holds this class, of the section with this id.
fn verdict(page: &str, section: &str) -> String {
    let from = page.split(&format!("id=\"{section}\"")).nth(1).unwrap_or_else(|| panic!("no {section}"));
    let said = from.split("class=\"verdict\">").nth(1).and_then(|rest| rest.split("</p>").next());
    said.unwrap_or_else(|| panic!("no verdict of {section}")).to_owned()
}

#[test]
fn each_series_has_its_verdict_and_a_change_is_told_only_beyond_the_noise() {
    let (desk, at) = filled();
    let page = |i: usize| desk.get(&format!("{}/follow", at[i]));
    let (clear, none, early, side, few) = (page(0), page(1), page(2), page(3), page(4));
    shows(
        &clear,
        &["Ada Winter", "Kendall's tau", "A small bruise on the right cheek", "noise: baseline mean", "fitted line"],
    );
    let said = verdict(&clear.body, "value-dE00");
    assert!(said.starts_with("The skin under the eyes came closer to the colour of the cheek by "), "{said}");
    assert!(
        verdict(&clear.body, "value-brow").starts_with("Nothing has changed beyond the noise"),
        "{}",
        verdict(&clear.body, "value-brow")
    );
    assert!(clear.body.contains("held to a stricter line together (Holm)"), "Holm is said");
    assert!(
        clear.body.contains("After a session it was higher than before it by 2.0"),
        "the second figure of how they felt"
    );
    assert!(verdict(&none.body, "value-dE00").starts_with("Nothing has changed beyond the noise"));
    let said = verdict(&few.body, "value-dE00");
    assert!(said.starts_with("There is no verdict: only two days before the first session"), "{said}");

    // What lies far is marked, and is still in the table.
    shows(&few, &["The visit of day 16 (", "It is marked, and kept.", "class=\"ring\"", "(far from the others, kept)"]);
    assert!(!none.body.contains("far from the others"), "nothing does");

    // Before the look neither verdict, change, line, run nor relation is there.
    let said = verdict(&early.body, "value-dE00");
    assert_eq!(said, "The plan looks on day 28 (17 March 2026); until then there is no verdict.");
    for word in
        ["fitted line", "class=\"fit\"", "Theil-Sen", "Kendall", "After a session it was", "estimated at", "interval"]
    {
        assert!(!early.body.contains(word), "{word} before the look");
    }
    shows(&early, &["One visit scatters by", "class=\"dot\""]);

    shows(
        &side,
        &[
            "From the first days on, the worked side changed by",
            "The interval leaves out zero",
            "An earlier look, on day 14",
        ],
    );
    assert!(
        verdict(&side.body, "value-dE00").contains("95.5 % interval")
            || verdict(&side.body, "value-dE00").contains("95.5"),
        "the second of two looks spends .045"
    );
}

#[test]
fn the_days_of_weeks_that_ran_stand_in_a_strip_and_the_list() {
    let (desk, at) = filled();
    let plan = desk.get(&at[2]);
    shows(
        &plan,
        &["Day 12 of 28.", "visit measured", "session done", "nothing said", "incident", "aria-current=\"date\""],
    );
    assert_eq!(
        plan.body.matches("class=\"sign visited\"").count(),
        5 + 4 + 1,
        "five before, days 1, 4, 7 and 10, and the legend"
    );
    let all = desk.get("/weeks");
    shows(&all, &["Cara Herbst"]);
    assert!(!all.body.contains("Ada Winter"), "her weeks are over");
    // The noise of her own visits stands in the planning aid.
    let client = at[0].split("/weeks").next().expect("a client");
    shows(&desk.get(&format!("{client}/weeks/new")), &["Reckoned with the noise of this client's own visits"]);
}

#[test]
fn a_measured_photograph_is_a_dot_and_everything_is_there_after_a_power_cut() {
    let desk = Desk::inside();
    let pictures = Folder::new(&house::unique("pictures"));
    let file = pictures.file("one.jpg");
    assert_eq!(house::run(&["phantom", "--seed", "11", "--plain", &file]).code, 0);
    let picture = std::fs::read(&file).expect("a picture");
    let id = client(&desk, "Iris");
    let given = desk.post(&format!("/clients/{id}/consent"), "kind=photographs&given=yes");
    assert_eq!(given.status, 303, "{}", given.body);
    let at = begin(&desk, &id, &plan("2026-03-01", ""));
    shows(&desk.get(&at), &["A visit, with two photographs.", "class=\"button go\" href=\"/clients/1/visits/new\""]);

    let new = format!("/clients/{id}/visits/new");
    let fields = [("light", "window"), ("slept", ""), ("tone", "intermediate")];
    let visit = place(&desk.post_parts(&new, &fields, &[("photo", "one.jpg", "image/jpeg", &picture)]));
    let shown = desk.get(&visit).body;
    let shot =
        shown.split(&format!("action=\"{visit}/shots/")).nth(1).expect("a shot").split('/').next().expect("its number");
    assert_eq!(desk.post(&format!("{visit}/shots/{shot}/keep"), "").status, 303);
    let read = |desk: &Desk| {
        let plan = desk.get(&at);
        shows(&plan, &["visit measured", "It has begun, and stays as it is."]);
        assert!(!plan.body.contains("A visit, with two photographs."), "no visit is due any more");
        let follow = desk.get(&format!("{at}/follow"));
        shows(&follow, &["class=\"dot\"", "Photographs", "1 March 2026"]);
        let row = follow.body.split("id=\"value-dE00\"").nth(1).and_then(|rest| rest.split("<tbody>").nth(1));
        row.and_then(|r| r.split("</tbody>").next()).expect("the numbers").to_owned()
    };
    let before = read(&desk);
    assert_eq!(before.matches("<tr>").count(), 1, "{before}");
    let (folder, _) = desk.kill();
    let desk = Desk::inside_of(folder);
    assert_eq!(read(&desk), before);
}
