//! A practice's own country: what it changes, and every mistake with its line.

use super::tests::found;
use super::*;

const EXAMPLE: &str = include_str!("../../../../examples/words_country.toml");

#[test]
fn the_example_is_a_country_of_its_own() {
    let shipped = Rules::shipped();
    let rules = Rules::shipped().with("words_country.toml", EXAMPLE).expect("the example is right");
    assert_eq!(rules.countries().last().map(|(code, _)| code.clone()), Some("lum".to_owned()));
    assert_ne!(rules.sum(), shipped.sum());
    assert_eq!(
        rules.sum(),
        Rules::shipped().with("words_country.toml", EXAMPLE).expect("the example").sum(),
        "the sum is of the data alone"
    );
    let claims = found(&rules, "It drains the lymph.", &["uk", "lum"]);
    let lymph: Vec<_> = claims.iter().filter(|c| c.topic == "lymph").collect();
    assert_eq!(lymph[0].verdict, Verdict::NeedsTrial);
    assert_eq!(
        (lymph[1].verdict, lymph[1].source.as_str()),
        (Verdict::Avoid, "Lumerian Massage Order, section 4 (invented)")
    );
    assert!(lymph[1].reason.contains("massage order"), "{}", lymph[1].reason);
    // What it does not say is as in the country it is based on.
    let claims = found(&rules, "It boosts collagen.", &["lum"]);
    assert_eq!((claims[0].verdict, claims[0].rules[0].as_str()), (Verdict::NeedsTrial, "uk_antiage"));
    // Its own words hold everywhere.
    let claims = found(&rules.clone().alone(), "This is how you get the moon-face glow.", &["us"]);
    assert_eq!((claims[0].kind.as_str(), claims[0].text.as_str()), ("promise", "moon-face glow"));
    let both = found(&rules, "This is how you get the moon-face glow.", &["us"]);
    assert!(both.contains(&claims[0]), "the second reader takes nothing of it away");
    assert_eq!(found(&shipped.alone(), "This is how you get the moon-face glow.", &["us"]), Vec::new());
}

#[test]
fn every_mistake_is_told_with_its_line() {
    let country = "[country]\ncode = \"xx\"\nname = \"X\"\nbased_on = \"uk\"\n";
    let row = |rest: &str| format!("{country}[[verdict]]\n{rest}\n");
    let words = |rest: &str| format!("[[words]]\n{rest}\n");
    for (toml, line, says) in [
        (String::new(), 0, "neither a [country] nor [[words]]"),
        ("[country".to_owned(), 1, "not valid TOML"),
        ("[country]\nname = \"X\"\nbased_on = \"uk\"\n".to_owned(), 1, "`code`"),
        ("[country]\ncode = \"US of A\"\nname = \"X\"\nbased_on = \"uk\"\n".to_owned(), 2, "small letters"),
        ("[country]\ncode = \"uk\"\nname = \"X\"\nbased_on = \"us\"\n".to_owned(), 2, "already"),
        ("[country]\ncode = \"xx\"\nname = \"\"\nbased_on = \"uk\"\n".to_owned(), 3, "is empty"),
        ("[country]\ncode = \"xx\"\nname = \"X\"\nbased_on = \"ukk\"\n".to_owned(), 4, "did you mean `uk`"),
        ("[country]\ncode = \"xx\"\nname = \"X\"\n".to_owned(), 1, "`based_on`"),
        (format!("{country}rules = 1\n"), 5, "rules"),
        (row("type = \"bodi\"\nverdict = \"avoid\"\nreason = \"r\"\nsource = \"s\""), 6, "did you mean `body`"),
        (row("type = \"body\"\ntopic = \"limph\"\nverdict = \"avoid\"\nreason = \"r\"\nsource = \"s\""), 7, "did you mean `lymph`"),
        (row("type = \"body\"\nverdict = \"forbid\"\nreason = \"r\"\nsource = \"s\""), 7, "not known"),
        (row("type = \"body\"\nverdict = \"avoid\"\nsource = \"s\""), 5, "`reason`"),
        (row("type = \"body\"\nverdict = \"avoid\"\nreason = \"r\""), 5, "`source`"),
        (row("type = \"body\"\nverdict = \"avoid\"\nreason = \"r\"\nsource = \"s\"\nwhy = 1"), 10, "why"),
        (
            row("type = \"body\"\nverdict = \"avoid\"\nreason = \"r\"\nsource = \"s\"\n[[verdict]]\ntype = \"body\"\nverdict = \"ok\"\nreason = \"r\"\nsource = \"s\""),
            10,
            "stands here twice",
        ),
        ("[[verdict]]\ntype = \"body\"\nverdict = \"avoid\"\nreason = \"r\"\nsource = \"s\"\n[[words]]\ntype = \"promise\"\ntopic = \"result\"\nwords = [\"glow up now\"]\nsource = \"s\"".to_owned(), 1, "belongs to a country"),
        (words("type = \"promise\"\nwords = [\"glow\"]\nsource = \"s\""), 1, "`topic`"),
        (words("type = \"promise\"\ntopic = \"result\"\nsource = \"s\""), 1, "`words`"),
        (words("type = \"promise\"\ntopic = \"result\"\nwords = [\"@cond *3\"]\nsource = \"s\""), 4, "a wording holds"),
        (words("type = \"promise\"\ntopic = \"result\"\nwords = [\"a\"]\nsource = \"s\""), 4, "two letters"),
        (words("type = \"promise\"\ntopic = \"result\"\nwords = [\"glow\"]"), 1, "`source`"),
        (words(&format!("type = \"promise\"\ntopic = \"result\"\nwords = [\"{}\"]\nsource = \"s\"", "glow ".repeat(40))), 4, "longer than"),
    ] {
        let findings = match Rules::shipped().with("own.toml", &toml) {
            Err(findings) => findings,
            Ok(_) => panic!("taken as right:\n{toml}"),
        };
        let told = findings.iter().any(|f| f.line == line && f.message.contains(says));
        assert!(told, "{toml}\nwanted line {line}: {says}\ngot {findings:#?}");
    }
}
