use super::super::shipped::statements;
use super::*;

fn claim(start: usize, end: usize, country: &str, verdict: Verdict) -> Claim {
    Claim {
        start,
        end,
        time: Some(62.5),
        text: "lifts the face".into(),
        country: country.into(),
        kind: "body".into(),
        topic: "lift".into(),
        verdict,
        confidence: 0.8,
        rules: vec!["us_lift".into()],
        reason: "It <says> so.".into(),
        source: "A source.".into(),
        instead: Some("It feels \"fresh\".".into()),
    }
}

#[test]
fn a_statement_stands_once_with_all_its_countries_the_strictest_first() {
    let claims = [
        claim(3, 9, "eu", Verdict::NeedsTrial),
        claim(3, 9, "us", Verdict::Avoid),
        claim(3, 9, "uk", Verdict::NeedsTrial),
    ];
    let groups = groups(&claims);
    assert_eq!(groups.len(), 1);
    let told: Vec<_> = groups[0].rulings.iter().map(|r| (r.verdict, r.countries.clone())).collect();
    assert_eq!(told, [(Verdict::Avoid, vec!["us"]), (Verdict::NeedsTrial, vec!["eu", "uk"])]);
    assert_eq!((groups[0].worst, groups[0].instead.len(), counts(&claims)), (Verdict::Avoid, 1, [1, 0, 0, 0]));
    // Another topic at the same place is another statement.
    let other = Claim { topic: "muscle".into(), ..claims[0].clone() };
    assert_eq!(super::groups(&[claims[0].clone(), other]).len(), 2);
}

#[test]
fn the_list_tells_words_time_rule_source_and_mark_and_escapes_them() {
    let claims = [claim(0, 5, "us", Verdict::Avoid)];
    let standing = Standing::new([]);
    let list = found(&claims, &standing, &More { places: true, ..More::default() }).into_string();
    for part in ["1:02", "lifts the face", "It &lt;says&gt; so.", "id=\"found-1\"", "href=\"#found-place-1\""] {
        assert!(list.contains(part), "{part} in {list}");
    }
    let rule = row("us_lift").expect("a rule that ships");
    assert!(list.contains(&rule.meaning) && list.contains(words::mark(&rule.mark)), "{list}");
    assert!(list.contains("It feels &quot;fresh&quot;."), "{list}");
    let none = found(&[], &standing, &More::default()).into_string();
    assert!(none.contains(text("found.silence")) && !none.contains("<ol"), "{none}");
}

#[test]
fn a_marked_text_is_the_text_and_nothing_is_lost_where_places_overlap() {
    let body = "Ä <b> 🙂 lifts the face & more\n";
    let claims = [
        claim(4, 12, "us", Verdict::NeedsTrial),
        Claim { kind: "promise".into(), ..claim(8, 16, "us", Verdict::Avoid) },
        Claim { kind: "number".into(), ..claim(8, 10, "us", Verdict::Ok) },
        // Beyond the end: a text that was kept with another's findings marks what there is.
        Claim { kind: "fear".into(), ..claim(20, 900, "us", Verdict::Ok) },
    ];
    let shown = marked(body, &claims, "t").into_string();
    let mut plain = String::new();
    let (mut tag, mut unseen) = (false, false);
    for part in shown.split_inclusive(['<', '>']) {
        if tag {
            unseen = part.starts_with("span class=\"unseen\"") || (unseen && !part.starts_with("/span"));
        } else if !unseen {
            plain.push_str(part.trim_end_matches('<'));
        }
        tag = part.ends_with('<');
    }
    let plain = plain.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    assert_eq!(plain, body);
    for n in 1..=3 {
        assert_eq!(shown.matches(&format!("id=\"t-place-{n}\"")).count(), 1, "{n} in {shown}");
    }
    assert_eq!(shown.matches("class=\"place struck\"").count(), 1, "one line, one way to the finding: {shown}");
    assert!(shown.contains("class=\"place dashed\"") && !shown.contains("t-place-5"), "{shown}");
}

#[test]
fn every_kind_of_statement_and_every_mark_has_its_words() {
    let kinds: std::collections::BTreeSet<&str> = statements().iter().map(|s| s.kind.as_str()).collect();
    assert!(kinds.len() > 10, "{kinds:?}");
    for kind in kinds {
        assert!(matches!(words::kind(kind), std::borrow::Cow::Borrowed(_)), "{kind} has no words of its own");
    }
}
