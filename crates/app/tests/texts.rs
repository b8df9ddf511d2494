//! Texts that are to be public: checked, mended, kept, checked again when the rules change; own countries; and what must not pass.

mod house;

use std::time::Instant;

use cabinet::{Cabinet, Cost, Json, NewText, Passphrase, Time, Toml};
use house::{Answer, Desk, Folder, PASSPHRASE, run, unique};

const ALL: &str = "country=us&country=eu&country=uk";
/// Each of its sentences but the first and the last says what must not be said.
const CLAIMS: &str = "Press ten seconds below the cheekbone. This massage removes wrinkles. It cures migraine. See your doctor if it hurts.";

fn encoded(text: &str) -> String {
    let mut out = form_urlencoded::Serializer::new(String::new());
    out.append_pair("x", text);
    out.finish().split_off(2)
}

fn form(kind: &str, body: &str, more: &str) -> String {
    format!("kind={kind}&from=&title=&body={}&{more}", encoded(body))
}

fn plain(html: &str) -> String {
    let escapes = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")];
    escapes.iter().fold(html.to_owned(), |text, (from, to)| text.replace(from, to))
}

/// What stands in the field of the words.
fn words_of(page: &Answer) -> String {
    let field = page.body.split("name=\"body\"").nth(1).and_then(|rest| rest.split_once('>')).expect("the field").1;
    plain(field.split("</textarea>").next().expect("its end").strip_prefix('\n').expect("a line end of our own"))
}

/// The values of all buttons of this name.
fn buttons(page: &Answer, name: &str) -> Vec<String> {
    let begins = format!("name=\"{name}\" value=\"");
    let parts = page.body.split(&begins).skip(1);
    parts.filter_map(|rest| rest.split('"').next().map(plain)).collect()
}

/// What follows a finding's number, up to the next one: its part of the page.
fn finding(page: &Answer, n: usize) -> String {
    let part =
        page.body.split(&format!("id=\"found-{n}\"")).nth(1).unwrap_or_else(|| panic!("finding {n}: {}", page.body));
    plain(part.split("class=\"finding ").next().expect("a part"))
}

fn kept(desk: &Desk, body: &str, more: &str) -> String {
    let saved = desk.post("/publish/texts/new", &form("description", body, &format!("{more}&do=keep")));
    assert_eq!(saved.status, 303, "{}", saved.body);
    let at = saved.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("an address");
    at.split('?').next().expect("a path").to_owned()
}

#[test]
fn a_text_is_checked_marked_in_place_kept_and_listed() {
    let desk = Desk::inside();
    let page = desk.get("/publish/texts/new");
    assert_eq!((page.status, page.body.matches("class=\"go\"").count()), (200, 1));
    for said in ["no legal advice", "English only", "no clearance"] {
        assert!(page.body.contains(said), "{said}");
    }
    let checked = desk.post("/publish/texts/new", &form("script", CLAIMS, &format!("{ALL}&do=check")));
    assert_eq!((checked.status, words_of(&checked)), (200, CLAIMS.to_owned()));
    assert!(checked.body.contains("value=\"script\" selected"));
    // Both claims, each marked in the text and led to and from; neither instruction nor caution.
    let count = checked.body.matches("class=\"finding ").count();
    let mut told = String::new();
    for n in 1..=count {
        let part = finding(&checked, n);
        let said = part.split("<q>").nth(1).and_then(|q| q.split("</q>").next()).expect("the words");
        told.push_str(said);
        assert!("This massage removes wrinkles. It cures migraine.".contains(said), "{said}");
        assert!(
            part.contains("Not to be said:") && part.contains("United States") && part.contains("Source: "),
            "{part}"
        );
        assert!(part.contains(&format!("href=\"#found-place-{n}\"")));
        assert_eq!(checked.body.matches(&format!("id=\"found-place-{n}\"")).count(), 1, "{n} has one place");
    }
    assert!(told.contains("wrinkles") && told.contains("migraine"), "{told}");
    let marked = checked.body.split("id=\"found-place-1\" href=\"#found-1\">").nth(1).expect("a place");
    assert!(marked.starts_with("removes wrinkles<span"), "{marked}");
    assert!(desk.get("/publish").body.contains("No text is kept yet"), "checking keeps nothing");
    let at = kept(&desk, CLAIMS, ALL);
    let list = desk.get("/publish");
    assert_eq!((list.status, list.body.matches("button go").count()), (200, 1));
    let mend = list.body.split("To be mended").nth(1).expect("a group");
    assert!(mend.contains(&format!("href=\"{at}\"")) && mend.contains(&format!("{count} not to be said")), "{mend}");
    assert!(mend.contains("Press ten seconds below the cheekbone"), "it is called by its first words");
    assert!(mend.contains("checked 1 March 2026"), "{mend}");
    let shown = desk.get(&format!("{at}?done=saved"));
    assert_eq!((shown.status, words_of(&shown)), (200, CLAIMS.to_owned()));
    assert!(shown.body.contains("Kept, with what was found.") && shown.body.contains("id=\"found-2\""));
    // What is innocent stands in the last group, and is told to be no clearance.
    let named = form("description", "Press ten seconds below the cheekbone.", &format!("{ALL}&do=keep"));
    let saved = desk.post("/publish/texts/new", &named.replace("title=", "title=Fine+%3Cone%3E"));
    assert!(saved.status == 303 && saved.head.contains("location: /publish/texts/2"), "{}", saved.head);
    let fine = "/publish/texts/2";
    let group = desk.get("/publish").body;
    let group = group.split("Nothing to mend was found").nth(1).expect("a group");
    assert!(group.contains(&format!("href=\"{fine}\"")) && group.contains("Fine &lt;one&gt;"), "{group}");
    assert!(desk.get(fine).body.contains("That is no clearance"));
    // It comes out again as a file.
    let file = desk.get(&format!("{at}/file"));
    assert_eq!((file.status, file.body.as_str()), (200, CLAIMS));
    assert!(file.head.contains("content-disposition: attachment; filename=\"text-1.txt\""), "{}", file.head);
    // Changed and kept again it is the same text.
    let changed = desk.post(&at, &form("title", "A tight jaw", &format!("{ALL}&do=keep")));
    assert_eq!(changed.status, 303);
    assert_eq!(words_of(&desk.get(&at)), "A tight jaw");
    // Taken out after a question.
    let ask = desk.get(&format!("{at}/gone"));
    assert!(ask.body.contains("What you have published stays"), "{}", ask.body);
    assert_eq!(desk.post(&format!("{at}/gone"), "").status, 303);
    assert_eq!(desk.get(&at).status, 404);
    assert_eq!(desk.get(fine).status, 200);
}

#[test]
fn what_stands_in_a_client_s_record_is_named_beside_a_story() {
    let desk = Desk::inside();
    let story = "My client Ana used to have deep wrinkles and after two weeks they were gone.";
    let page = desk.post("/publish/texts/new", &form("post", story, &format!("{ALL}&do=check")));
    assert!(
        page.body.contains("Somebody's story as a proof") || page.body.contains("Somebody&#39;s story"),
        "{}",
        page.body
    );
    assert!(page.body.contains("consent to publication") && page.body.contains("href=\"/clients\""), "{}", page.body);
    let other = desk.post("/publish/texts/new", &form("post", CLAIMS, &format!("{ALL}&do=check")));
    assert!(!other.body.contains("consent to publication"));
    // A client who is named is told with what stands in their record, in whatever way the name is written.
    let added = desk.post("/clients/new", "name=Zo%C3%AB+M%C3%BCller&hands=both");
    assert_eq!(added.status, 303, "{}", added.body);
    let naming = form("post", "With thanks to ZOE MULLER, who lent her time.", &format!("{ALL}&do=check"));
    let lacks = desk.post("/publish/texts/new", &naming);
    assert!(lacks.body.contains("no consent to publication stands"), "{}", lacks.body);
    assert!(lacks.body.contains("href=\"/clients/1#consents\""), "{}", lacks.body);
    assert_eq!(desk.post("/clients/1/consent", "kind=publication&given=yes").status, 303);
    let stands = desk.post("/publish/texts/new", &naming);
    assert!(stands.body.contains("Their consent to publication stands in their record."), "{}", stands.body);
    let titled = form("post", "Ten quiet minutes.", &format!("{ALL}&do=check"))
        .replace("title=&", "title=Zo%C3%AB+M%C3%BCller+and+I&");
    assert!(
        desk.post("/publish/texts/new", &titled).body.contains("Their consent to publication stands in their record.")
    );
    let half = desk.post("/publish/texts/new", &form("post", "Zoe said so. Mullers did.", &format!("{ALL}&do=check")));
    assert!(!half.body.contains("consent to publication"), "{}", half.body);
}

#[test]
fn a_safer_wording_replaces_one_sentence_and_nothing_else() {
    let desk = Desk::inside();
    let page = desk.post("/publish/texts/new", &form("script", CLAIMS, &format!("{ALL}&do=check")));
    let offered = buttons(&page, "take");
    assert!(!offered.is_empty(), "no safer wording: {}", page.body);
    let wanted = offered.iter().find(|o| o.contains(",body,")).expect("one for the second sentence");
    let instead = wanted.splitn(5, ',').nth(4).expect("the words").to_owned();
    let send = |body: &str, take: &str| {
        desk.post("/publish/texts/new", &form("script", body, &format!("{ALL}&take={}", encoded(take))))
    };
    let taken = send(CLAIMS, wanted);
    assert_eq!(taken.status, 200);
    assert_eq!(words_of(&taken), CLAIMS.replace("This massage removes wrinkles.", &instead));
    assert!(taken.body.contains("It is not kept yet") && taken.body.contains("migraine"));
    assert!(desk.get("/publish").body.contains("No text is kept yet"));
    // The text was changed meanwhile, or the words are somebody else's: nothing is replaced, nothing is lost.
    let other = format!("More before it. {CLAIMS}");
    for (body, take) in
        [(other.as_str(), wanted.as_str()), (CLAIMS, "1,2,body,x,Buy now"), (CLAIMS, "x"), (CLAIMS, ",,,,")]
    {
        let refused = send(body, take);
        assert_eq!((refused.status, words_of(&refused)), (422, body.to_owned()), "{take}");
        assert!(refused.body.contains("nothing was taken over"), "{take}");
    }
}

#[test]
fn captions_come_in_as_a_file_with_their_times_and_go_out_again() {
    let desk = Desk::inside();
    let vtt = "WEBVTT\r\n\r\n00:00:05.000 --> 00:00:08.000\r\nThis massage <i>removes</i>\r\n\r\n00:00:08.000 --> 00:00:10.000\r\nwrinkles &amp; lines.\r\n";
    let here = vtt.replace("\r\n", "\n");
    let fields = [("from", ""), ("title", "Mine"), ("kind", "post"), ("country", "us"), ("body", ""), ("do", "bring")];
    let bring =
        |name: &str, bytes: &[u8]| desk.post_parts("/publish/texts/new", &fields, &[("file", name, "text/vtt", bytes)]);
    let page = bring("C:\\films\\evening.vtt", vtt.as_bytes());
    assert_eq!((page.status, words_of(&page)), (200, here.clone()));
    for part in ["value=\"captions\" selected", "name=\"from\" value=\"evening.vtt\"", "value=\"Mine\"", "0:05"] {
        assert!(page.body.contains(part), "{part}: {}", page.body);
    }
    assert!(finding(&page, 1).contains("wrinkles"));
    let saved =
        desk.post("/publish/texts/new", &format!("{}&from=evening.vtt", form("captions", &here, "country=us&do=keep")));
    assert_eq!(saved.status, 303, "{}", saved.body);
    let file = desk.get("/publish/texts/1/file");
    assert_eq!((file.body, file.head.contains("text-1.vtt")), (here, true));
    // Whatever else is brought is refused with words, and what was typed stays.
    let fields = [("title", "Mine"), ("country", "us"), ("body", "Typed before"), ("do", "bring")];
    let refused: [(&str, Vec<u8>, &str); 7] = [
        ("a.vtt", b"\0\x01\x02binary".to_vec(), "no text file"),
        ("a.pdf", b"%PDF-1.7".to_vec(), "a PDF"),
        ("a.txt", b"\xff\xfea\0b\0".to_vec(), "UTF-16"),
        ("a.txt", b"one\ntw\xf6".to_vec(), "Line 2"),
        ("a.txt", b" \n".to_vec(), "no words in it"),
        ("a.txt", vec![b'a'; 5 * 1024 * 1024], "larger than 4 MB"),
        ("a.vtt", b"WEBVTT\n\n00:01.000 --> banana\nHello\n".to_vec(), "Line 3"),
    ];
    for (name, bytes, said) in refused {
        let page = desk.post_parts("/publish/texts/new", &fields, &[("file", name, "text/plain", &bytes)]);
        assert_eq!((page.status, words_of(&page)), (422, "Typed before".to_owned()), "{said}");
        assert!(plain(&page.body).contains(said), "{said}: {}", page.body);
    }
    let none = desk.post_parts("/publish/texts/new", &fields, &[("file", "", "application/octet-stream", b"")]);
    assert!(none.status == 422 && none.body.contains("No file was chosen"), "{}", none.body);
    // What stood in the field before the file is shown below it.
    let page = desk.post_parts("/publish/texts/new", &fields, &[("file", "b.txt", "text/plain", b"From the file")]);
    assert_eq!((page.status, words_of(&page)), (200, "From the file".to_owned()));
    let before = page.body.split("id=\"before\"").nth(1).expect("what stood there");
    assert!(before.contains("Typed before"));
    // A file that was chosen and not brought is asked for.
    let named = desk.post("/publish/texts/new", &form("post", "", &format!("{ALL}&do=check&file=a.vtt")));
    assert!(named.status == 422 && named.body.contains("did not bring it"), "{}", named.body);
}

#[test]
fn a_refused_form_comes_back_whole() {
    let desk = Desk::inside();
    let long = "word ".repeat(90_000);
    let cases = [
        (form("post", " \n ", &format!("{ALL}&do=keep")), " \n ", "There are no words yet"),
        (form("post", "Some words", "do=check"), "Some words", "No country is ticked"),
        (form("post", "Some words", "country=xx&do=check"), "Some words", "No country is ticked"),
        (form("post", &long, &format!("{ALL}&do=keep")), &long, "at most 400,000"),
        (form("post", "a\n00:01 --> 00:02\nb --> c", &format!("{ALL}&do=keep")), "a\n00:01 --> 00:02\nb --> c", ""),
    ];
    for (sent, body, said) in cases {
        let page = desk.post("/publish/texts/new", &sent);
        assert_eq!(
            (page.status, words_of(&page) == body),
            (422, true),
            "{said}: {}",
            &page.body[..page.body.len().min(3000)]
        );
        assert!(page.body.contains(said) && page.body.contains("role=\"alert\""), "{said}");
        assert!(page.body.contains("value=\"post\" selected"), "{said}");
    }
    let title = "x".repeat(200);
    let page = desk.post(
        "/publish/texts/new",
        &form("post", "Words", &format!("{ALL}&do=keep")).replace("title=", &format!("title={title}")),
    );
    assert!(page.status == 422 && page.body.contains(&title) && page.body.contains("Shorten it"), "{}", page.body);
    assert!(desk.get("/publish").body.contains("No text is kept yet"));
}

#[test]
fn while_one_types_the_part_that_changes_is_answered_alone() {
    let desk = Desk::inside();
    let page = desk.post("/publish/texts/look", &form("script", CLAIMS, ALL));
    assert_eq!(page.status, 200);
    assert!(page.body.trim_start().starts_with("<h2 id=\"result-title\""), "{}", page.body);
    assert!(page.body.contains("id=\"found-2\"") && page.body.contains("id=\"text-told\""));
    let empty = desk.post("/publish/texts/look", &form("script", "", ALL));
    assert!(empty.status == 200 && empty.body.contains("There are no words yet"), "{}", empty.body);
    // Every offset is one of the text, whatever letters it has.
    let odd = format!("🙂 Zoë: {CLAIMS} 🙂\n\nIt removes\nwrinkles — “for ever”.");
    let page = desk.post("/publish/texts/look", &form("script", &odd, ALL));
    let marked = page.body.split("aria-label=\"Your text with what was found\"").nth(1).expect("the marked text");
    assert!(marked.contains("🙂 Zoë: ") && marked.contains("— “for ever”") || marked.contains("wrinkles"), "{marked}");
}

#[test]
fn an_hour_of_captions_is_checked_while_one_waits() {
    let desk = Desk::inside();
    let mut body = String::from("WEBVTT\n");
    for n in 0..1200 {
        let (from, to) = (n * 3, n * 3 + 3);
        let clock = |s: i32| format!("{:02}:{:02}:{:02}.000", s / 3600, s / 60 % 60, s % 60);
        let words = if n % 40 == 7 {
            "This stroke removes wrinkles."
        } else {
            "Rest the finger beside the nose and breathe out."
        };
        body.push_str(&format!("\n{} --> {}\n{words}\n", clock(from), clock(to)));
    }
    let sent = form("captions", &body, ALL);
    let begun = Instant::now();
    let page = desk.post("/publish/texts/look", &sent);
    let took = begun.elapsed();
    assert_eq!((page.status, page.body.matches("class=\"finding ").count()), (200, 30));
    // The debug build on a busy machine; the release build is measured elsewhere.
    assert!(took.as_secs() < 20, "{took:?}");
}

#[test]
fn thousands_of_findings_are_told_in_part_while_one_waits() {
    let desk = Desk::inside();
    let many = |n: usize| "This removes wrinkles and cures acne. ".repeat(n);
    let begun = Instant::now();
    let page = desk.post("/publish/texts/look", &form("post", &many(1000), ALL));
    let took = begun.elapsed();
    let told = page.body.matches("class=\"finding ").count();
    assert_eq!((page.status, told), (200, 200));
    let marks = page.body.matches("class=\"place ").count() - 4;
    assert!(marks >= 2000, "all are marked in the text: {marks}");
    has_more(&page, marks - told);
    assert!(page.body.len() < 2_500_000, "{}", page.body.len());
    // The debug build on a busy machine; cut anew for each button, it took minutes.
    assert!(took.as_secs() < 20, "{took:?}");
    // What is told leads to its place and back; what is not leads nowhere.
    assert!(page.body.contains("id=\"found-place-200\"") && page.body.contains("href=\"#found-200\""));
    assert!(!page.body.contains("found-place-201\"") && !page.body.contains("href=\"#found-201\""));
    // The strictest are told, wherever they stand.
    let milder = format!("{}This massage cures migraine.", "It feels calm and relaxing. ".repeat(300));
    let page = desk.post("/publish/texts/look", &form("post", &milder, ALL));
    assert_eq!(page.body.matches("class=\"finding ").count(), 200);
    let alone = desk.post("/publish/texts/look", &form("post", "This massage cures migraine.", ALL));
    let struck = |page: &Answer| page.body.matches("class=\"finding struck\"").count();
    assert!(struck(&alone) > 0 && struck(&page) == struck(&alone), "the last of them");
}

fn has_more(page: &Answer, n: usize) {
    assert!(page.body.contains(&format!("And {n} more, which are marked")), "{n} more");
}

#[test]
fn strangers_and_odd_requests_get_nothing_and_harm_nothing() {
    let desk = Desk::inside();
    let at = kept(&desk, "A tight jaw", ALL);
    let body = form("post", "Theirs", &format!("{ALL}&do=keep"));
    let cookie = format!("{}cookie: {}\r\n", desk.ours(), desk.cookie);
    for path in [
        "/publish/texts/new",
        "/publish/texts/look",
        &at,
        "/publish/texts/1/seen",
        "/publish/texts/1/gone",
        "/publish/countries/new",
        "/publish/countries/bring",
    ] {
        let without = desk.post_bare(path, &body, &cookie);
        assert_eq!(without.status, 403, "{path} without a token");
        let other = desk.post_bare(path, &format!("token=00000000000000000000000000000000&{body}"), &cookie);
        assert_eq!(other.status, 403, "{path} with another's token");
        let outside = desk.post_bare(path, &format!("token={}&{body}", desk.token), &desk.ours());
        assert_eq!(outside.status, 403, "{path} without a cookie");
    }
    assert_eq!(words_of(&desk.get(&at)), "A tight jaw");
    for number in ["2", "0", "-1", "99999999999999999999", "x", "1%2f..", "9223372036854775807"] {
        for path in [
            format!("/publish/texts/{number}"),
            format!("/publish/texts/{number}/file"),
            format!("/publish/texts/{number}/gone"),
            format!("/publish/countries/{number}"),
            format!("/publish/countries/{number}/file"),
        ] {
            assert_eq!(desk.get(&path).status, 404, "{path}");
        }
        for path in [
            format!("/publish/texts/{number}"),
            format!("/publish/texts/{number}/seen"),
            format!("/publish/texts/{number}/gone"),
            format!("/publish/countries/{number}/gone"),
            format!("/publish/countries/{number}/toml"),
        ] {
            assert_eq!(desk.post(&path, &body).status, 404, "{path}");
        }
    }
    let huge = desk.post("/publish/texts/new", &form("post", &"x".repeat(5 * 1024 * 1024), ALL));
    assert_eq!(huge.status, 413, "{}", huge.body);
    assert_eq!(desk.post("/lock", "").status, 303);
    for path in ["/publish", "/publish/texts/new", &at, "/publish/countries", "/publish/rules", "/publish/texts/1/file"]
    {
        let shut = desk.get(path);
        assert!(shut.status == 303 && shut.head.contains("location: /unlock"), "{path}: {}", shut.head);
        assert!(!shut.body.contains("A tight jaw"));
    }
    // What was typed when it locked comes back to be sent again.
    let late = desk.post("/publish/texts/new", &form("post", "Typed & late", &format!("{ALL}&do=keep")));
    assert!(late.status == 403 && late.body.contains("Typed &amp; late"), "{}", late.body);
}

#[test]
fn the_rules_are_there_to_read_with_source_and_mark() {
    let desk = Desk::inside();
    let page = desk.get("/publish/rules");
    let rules = include_str!("../../../data/words/claims/rules.csv");
    let count = rules.lines().filter(|l| !l.starts_with('#')).count() - 1;
    assert_eq!(page.body.matches("Source: ").count(), count);
    let memory = rules.lines().filter(|l| l.ends_with(",memory")).count();
    assert_eq!(page.body.matches("From memory, not looked up").count(), memory);
    assert!(page.body.contains("No lawyer has looked at it"));
}

/// A country where lifting is not even to be spoken of, and one wording of its own.
const OWN: &str = "name=Freedonia&code=fd&based_on=uk&verdict.body.lift=avoid&reason.body.lift=It+is+forbidden+there.&source.body.lift=Law+7\
                   &words.0=glimmers+the+chin&statement.0=body.lift&from.0=A+letter&words.1=&statement.1=&from.1=";

#[test]
fn a_country_of_one_s_own_is_held_against_texts_and_old_ones_are_checked_again() {
    let desk = Desk::inside();
    let body = "This massage lifts the cheeks. It glimmers the chin.";
    let at = kept(&desk, body, "country=uk");
    let before = desk.get(&at);
    assert!(finding(&before, 1).contains("lift") && !before.body.contains("glimmers the chin</q>"), "{}", before.body);
    let saved = desk.post("/publish/countries/new", OWN);
    assert_eq!(saved.status, 303, "{}", saved.body);
    // The own words hold in every country: the text is checked again and says what is new, until it is looked at.
    for path in ["/publish", "/publish", &at] {
        let page = desk.get(path);
        assert!(page.body.contains("The rules have changed since this was checked"), "{path}: {}", page.body);
        assert!(
            plain(&page.body).contains("“glimmers the chin”: needs a trial in United Kingdom. That is new."),
            "{path}"
        );
    }
    assert_eq!(desk.post(&format!("{at}/seen"), "").status, 303);
    assert!(!desk.get("/publish").body.contains("The rules have changed"));
    // Held against the own country, its own verdict, reason and source stand there.
    let page = desk.post(&at, &form("description", body, "country=uk&country=fd&do=check"));
    let part = plain(&page.body);
    let of = part.split("Not to be said:").nth(1).expect("the own verdict");
    assert!(
        of.contains("Freedonia")
            && of.contains("It is forbidden there.")
            && part.contains("Law 7")
            && part.contains("A rule of your own"),
        "{part}"
    );
    assert_eq!(desk.post(&at, &form("description", body, "country=uk&country=fd&do=keep")).status, 303);
    // It is changed: the verdict is another, and that is told.
    let milder = OWN.replace("=avoid", "=needs_disclosure");
    assert_eq!(desk.post("/publish/countries/1", &milder).status, 303);
    let list = plain(&desk.get("/publish").body);
    assert!(list.contains("needs a disclosure in Freedonia. Before: not to be said."), "{list}");
    // The same file, taken along, is what `tragion words --rules` reads; brought again it is the same country.
    let file = desk.get("/publish/countries/1/file");
    assert!(
        file.head.contains("filename=\"rules-1.toml\"") && file.body.contains("[country]\ncode = \"fd\""),
        "{}",
        file.body
    );
    let twice =
        desk.post_parts("/publish/countries/bring", &[], &[("file", "fd.toml", "text/plain", file.body.as_bytes())]);
    assert!(twice.status == 422 && plain(&twice.body).contains("which is Freedonia already"), "{}", twice.body);
    let folder = Folder::new(&unique("own-rules"));
    let (rules, words) = (folder.write("fd.toml", &file.body), folder.write("words.txt", body));
    let said = run(&["words", &words, "--country", "fd", "--rules", &rules]);
    assert!(
        said.code == 0 && said.out.contains("It is forbidden there.") && said.out.contains("Freedonia"),
        "{}",
        said.out
    );
    // It goes after a question; what was only its own goes with it.
    assert!(desk.get("/publish/countries/1/gone").body.contains("Freedonia"));
    assert_eq!(desk.post("/publish/countries/1/gone", "").status, 303);
    let page = desk.get(&at);
    assert!(
        !page.body.contains("value=\"fd\"") && plain(&page.body).contains("nothing is said against it in FD any more"),
        "{}",
        page.body
    );
    let again =
        desk.post_parts("/publish/countries/bring", &[], &[("file", "fd.toml", "text/plain", file.body.as_bytes())]);
    assert!(again.status == 303 && again.head.contains("location: /publish/countries/2"), "{}", again.body);
    let form = desk.get("/publish/countries/2");
    for part in [
        "value=\"Freedonia\"",
        "value=\"needs_disclosure\" selected",
        "value=\"It is forbidden there.\"",
        "value=\"glimmers the chin\"",
    ] {
        assert!(form.body.contains(part), "{part}: {}", form.body);
    }
}

#[test]
fn own_rules_that_can_not_be_read_come_back_whole_with_what_to_do() {
    let desk = Desk::inside();
    let cases = [
        (OWN.replace("name=Freedonia", "name="), "has no name"),
        (OWN.replace("code=fd", "code=F+D%21"), "2 to 12 small letters"),
        (OWN.replace("code=fd", "code=us"), "belongs to United States already"),
        (OWN.replace("source.body.lift=Law+7", "source.body.lift="), "one of them is missing"),
        (OWN.replace("=avoid", "="), "one of them is missing"),
        (OWN.replace("statement.0=body.lift", "statement.0="), "choose what statement they make"),
        (OWN.replace("words.0=glimmers+the+chin", "words.0="), "Write what a text says"),
        (OWN.replace("words.0=glimmers+the+chin", "words.0=%3Cb%3E"), "letters, digits, blanks"),
    ];
    for (sent, said) in cases {
        let page = desk.post("/publish/countries/new", &sent);
        assert_eq!(page.status, 422, "{said}");
        assert!(plain(&page.body).contains(said), "{said}: {}", page.body);
        assert!(
            page.body.contains("It is forbidden there.") && page.body.contains("A letter"),
            "{said}: something was lost"
        );
    }
    assert!(desk.get("/publish/countries").body.contains("None yet."));
    // As a file: with its line, and nothing is kept.
    let file = "[country]\ncode = \"fd\"\nname = \"Freedonia\"\nbased_on = \"uk\"\n# a remark\n[[verdict]]\ntype = \"bodi\"\nverdict = \"avoid\"\nreason = \"r\"\nsource = \"s\"\n";
    let bring = |text: &str| {
        desk.post_parts("/publish/countries/bring", &[], &[("file", "fd.toml", "text/plain", text.as_bytes())])
    };
    let page = bring(file);
    assert!(page.status == 422 && plain(&page.body).contains("Line 7: `type` names `bodi`"), "{}", page.body);
    for (text, said) in
        [("no toml [", "Line 1"), ("a = 1\n", "neither a [country] nor [[words]]"), ("\0", "Line 1"), ("", "neither")]
    {
        let page = bring(text);
        assert!(page.status == 422 && plain(&page.body).contains(said), "{said}: {}", page.body);
    }
    // A file that holds more than the form (a remark of one's own) is changed as a file, and nothing of it is lost.
    let good = file.replace("bodi", "body");
    assert_eq!(bring(&good).status, 303);
    let page = desk.get("/publish/countries/1");
    assert!(page.body.contains("holds more than the form") && page.body.contains("# a remark"), "{}", page.body);
    let broken = desk.post("/publish/countries/1/toml", &format!("toml={}", encoded(&good.replace("avoid", "avoit"))));
    assert!(
        broken.status == 422 && plain(&broken.body).contains("Line 8: ") && broken.body.contains("avoit"),
        "{}",
        broken.body
    );
    let better = good.replace("avoid", "needs_trial");
    assert_eq!(desk.post("/publish/countries/1/toml", &format!("toml={}", encoded(&better))).status, 303);
    assert_eq!(desk.get("/publish/countries/1/file").body, better);
}

/// A practice as an earlier program may leave it: own rules that can't be read any more, a text that was checked with other rules.
#[test]
fn what_an_earlier_program_kept_is_told_and_checked_again() {
    let folder = Folder::new(&unique("before"));
    let now = Time::parse("2026-02-01T12:00:00Z").expect("a moment");
    let at = folder.file("cabinet");
    let made = Cabinet::create(at.as_ref(), &Passphrase::new(PASSPHRASE), Cost::FOR_TESTS, now).expect("made");
    made.write(now, |w| {
        w.add_own_rules("Old rules", &Toml::new("shape = \"of another day\"")?)?;
        let findings = Json::new("[{\"start\": 1, \"of\": \"another day\"}]")?;
        let countries = ["us".to_owned(), "gone".to_owned()];
        let text = NewText {
            title: "From before",
            kind: "of another day",
            file: "",
            body: "This massage removes wrinkles.",
            countries: &countries,
            rules: "another sum",
            findings: &findings,
        };
        w.add_text(&text)
    })
    .expect("written");
    drop(made);
    let desk = Desk::inside_of(folder);
    let list = plain(&desk.get("/publish").body);
    assert!(list.contains("can't be read, so they do not hold") && list.contains("Old rules"), "{list}");
    assert!(
        list.contains("The rules have changed since this was checked") && list.contains("checked 1 March 2026"),
        "{list}"
    );
    assert!(list.contains("“removes wrinkles”: not to be said in United States. That is new."), "{list}");
    let page = desk.get("/publish/texts/1");
    assert_eq!((page.status, words_of(&page).as_str()), (200, "This massage removes wrinkles."));
    let own = desk.get("/publish/countries/1");
    assert!(own.status == 200 && plain(&own.body).contains("shape = \"of another day\""), "{}", own.body);
    assert!(plain(&own.body).contains("neither a [country] nor [[words]]"), "{}", own.body);
}
