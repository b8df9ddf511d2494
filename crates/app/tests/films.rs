//! Journeys of a film, over real HTTP: made of a routine for everybody, shown as a kit, its times tapped, brought to a newer version.

mod house;

use std::io::Read;

use house::Desk;

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}:\n{body}");
}

fn lacks(body: &str, part: &str) {
    assert!(!body.contains(part), "the page has {part:?}:\n{body}");
}

fn leads_to(answer: &house::Answer) -> String {
    assert_eq!(answer.status, 303, "{}\n{}", answer.head, answer.body);
    answer.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("an address").trim().to_owned()
}

/// What the editor's form on a page would send.
fn form_of(body: &str) -> String {
    let form = body.split("<form id=\"editor\"").nth(1).and_then(|f| f.split("</form>").next()).expect("the form");
    let mut out = form_urlencoded::Serializer::new(String::new());
    let attribute = |tag: &str, name: &str| {
        tag.split(&format!(" {name}=\"")).nth(1).and_then(|r| r.split('"').next()).map(|v| v.replace("&amp;", "&"))
    };
    let mut rest = form;
    while let Some(at) = rest.find('<') {
        rest = &rest[at..];
        let tag = &rest[..rest.find('>').expect("a tag ends")];
        if tag.starts_with("<input") {
            let checked = !tag.contains("type=\"checkbox\"") || tag.contains(" checked");
            if let (Some(name), true) = (attribute(tag, "name").filter(|n| n != "token"), checked) {
                out.append_pair(&name, &attribute(tag, "value").unwrap_or_default());
            }
        } else if tag.starts_with("<select") {
            let all = rest.split("</select>").next().expect("its end");
            let mut options = all.split("<option").skip(1);
            let chosen = options.clone().find(|o| o.split('>').next().is_some_and(|t| t.contains(" selected")));
            let name = attribute(tag, "name").expect("a name");
            if name != "place" {
                let value = chosen.or(options.next()).and_then(|o| attribute(o, "value"));
                out.append_pair(&name, &value.unwrap_or_default());
            }
        }
        rest = &rest[tag.len()..];
    }
    out.finish()
}

fn act(desk: &Desk, page: &str, action: &str, more: &str) -> String {
    desk.post("/routines/edit", &format!("{}&do={action}{more}", form_of(page))).body
}

/// A routine drafted and kept: for everybody, or for a client.
fn routine(desk: &Desk, whose: &str, name: &str) -> String {
    let page = desk.get(&format!("/routines/new{whose}")).body;
    // A short one: every still of it is drawn.
    let form = form_of(&page);
    let minutes = form.split('&').find(|f| f.starts_with("minutes=")).expect("minutes").to_owned();
    let form = form.replace(&minutes, "minutes=4");
    let page = desk.post("/routines/edit", &format!("{form}&do=draft&concern=tight_jaw")).body;
    let page = act(desk, &page, "take", "");
    let named = form_of(&page).replace("name=&", &format!("name={name}&"));
    let kept = leads_to(&desk.post("/routines/edit", &format!("{named}&do=save")));
    kept.split('?').next().expect("an address").to_owned()
}

/// The same with a longer last step, kept as another version.
fn another_version(desk: &Desk, routine: &str) {
    let page = desk.get(routine).body;
    let shorter = form_of(&page);
    let at = shorter.rfind("seconds=").expect("a step");
    let old: String = shorter[at + 8..].chars().take_while(char::is_ascii_digit).collect();
    let new = old.parse::<u32>().expect("seconds") + 5;
    let changed = format!("{}seconds={new}{}", &shorter[..at], &shorter[at + 8 + old.len()..]);
    let changed = changed.replace("minutes=4", "minutes=6");
    leads_to(&desk.post("/routines/edit", &format!("{changed}&do=save")));
}

const FILM: &str = "routine=1&name=Jaw+%3Cbefore%3E+sleep&language=en&face=own&picture=mirror&pace=usual&unpaid=yes&own=My+oil%2C+shop.example&title=&words=A+gift%21";

fn film(desk: &Desk, form: &str) -> String {
    let kept = leads_to(&desk.post("/publish/films/new", form));
    assert_eq!(kept.split('?').nth(1), Some("done=saved"));
    kept.split('?').next().expect("an address").to_owned()
}

fn count(body: &str, part: &str) -> usize {
    body.matches(part).count()
}

#[test]
fn a_film_is_asked_for_shown_whole_and_taken_away_in_one_piece() {
    let desk = Desk::inside();
    has(&desk.get("/publish/films/new").body, "There is no routine yet");
    let kept = routine(&desk, "", "Evening");
    has(&desk.get(&format!("{kept}/ready")).body, "/publish/films/new?routine=1");
    let asked = desk.get("/publish/films/new?routine=1").body;
    has(&asked, "<option value=\"1\" selected>Evening</option>");
    has(&asked, "value=\"Evening\"");
    // Refused whole: what was typed stays, and each finding leads to its field.
    let wrong = desk
        .post("/publish/films/new", &format!("{}&paid=A+firm", FILM.replace("name=Jaw+%3Cbefore%3E+sleep", "name=")));
    assert_eq!(wrong.status, 422);
    has(&wrong.body, "href=\"#name\"");
    has(&wrong.body, "href=\"#unpaid\"");
    has(&wrong.body, "value=\"A firm\"");
    has(&wrong.body, "My oil, shop.example");
    let none = desk.post("/publish/films/new", &FILM.replace("routine=1&", ""));
    assert_eq!(none.status, 422);
    has(&none.body, "Choose the routine");

    let at = film(&desk, FILM);
    let page = desk.get(&at).body;
    let order = [
        "id=\"left-out-title\"",
        "id=\"script-title\"",
        "id=\"shots-title\"",
        "id=\"captions-title\"",
        "id=\"chapters-title\"",
        "id=\"description-title\"",
        "id=\"claims-title\"",
        "id=\"files-title\"",
    ];
    let places: Vec<usize> = order.iter().map(|id| page.find(id).unwrap_or_else(|| panic!("{id} in {page}"))).collect();
    assert!(places.is_sorted(), "{places:?}");
    has(&page, "Jaw &lt;before&gt; sleep");
    has(&page, "My own product, which I sell: My oil, shop.example");
    has(&page, "Nobody paid for this video");
    has(&page, "A gift!");
    has(&page, "All times are planned");
    lacks(&page, " style=");
    lacks(&page, "onclick");

    // Every file of the list comes, and the same are in the zip, with four stills a step.
    let steps = count(&page, "class=\"stills\"");
    assert!(steps > 3, "{steps}");
    let names: Vec<&str> =
        page.split(&format!("href=\"{at}/files/")).skip(1).filter_map(|r| r.split('"').next()).collect();
    assert_eq!(names.len(), 9);
    for name in &names {
        let file = desk.get(&format!("{at}/files/{name}"));
        assert_eq!(file.status, 200, "{name}");
        has(&file.head, &format!("filename=\"{name}\""));
        has(&file.head, "cache-control: no-store");
        assert!(file.body.len() > 40, "{name}");
    }
    has(&desk.get(&format!("{at}/files/captions.vtt")).body, "WEBVTT");
    assert_eq!(desk.get(&format!("{at}/files/passphrase.txt")).status, 404);
    assert_eq!(desk.get(&format!("{at}/files/..%2Fcabinet.toml")).status, 404);

    let zip = bytes(&desk, &format!("{at}/all.zip"));
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(zip)).expect("a zip");
    let all: Vec<String> = zip.file_names().map(|n| n.expect("a name").into_owned()).collect();
    for name in &names {
        assert!(all.iter().any(|n| n == name), "{name} in {all:?}");
    }
    let acts = times(&desk, &at).len();
    let stills = all.iter().filter(|n| n.starts_with("stills/") && n.ends_with(".png")).count();
    assert_eq!(stills, 4 * acts);
    let still = all.iter().find(|n| n.starts_with("stills/tall-night/step-02-")).expect("a still").clone();
    let mut inside = Vec::new();
    zip.by_name(&still).expect("it is there").read_to_end(&mut inside).expect("it can be read");
    assert_eq!(inside, bytes(&desk, &format!("{at}/stills/tall-night/2.png")));
    assert_eq!(&inside[1..4], b"PNG");
    has(&desk.get(&format!("{at}/stills/wide-day/1.svg")).head, "content-type: image/svg+xml");
    for lost in [
        "wide-dusk/1.svg",
        "square-day/1.svg",
        "wide-day/0.svg",
        "wide-day/999.svg",
        "wide-day/1.gif",
        "wide-day/1",
        "wide/1.svg",
    ] {
        assert_eq!(desk.get(&format!("{at}/stills/{lost}")).status, 404, "{lost}");
    }

    let read = desk.get(&format!("{at}/read")).body;
    has(&read, "class=\"reading\"");
    assert_eq!(
        count(&read, "class=\"reading-act\""),
        acts + 2,
        "a part for each step, and what is said before and after"
    );

    assert_eq!(leads_to(&desk.post(&format!("{at}/remove"), "")), "/publish?done=gone");
    assert_eq!(desk.get(&at).status, 404);
    assert_eq!(desk.get(&format!("{at}/all.zip")).status, 404);
}

/// An answer's body as it came.
fn bytes(desk: &Desk, path: &str) -> Vec<u8> {
    use std::io::Write;
    let mut stream = std::net::TcpStream::connect(("127.0.0.1", desk.port)).expect("the desk listens");
    let head = format!(
        "GET {path} HTTP/1.1\r\nhost: 127.0.0.1:{}\r\ncookie: {}\r\nconnection: close\r\n\r\n",
        desk.port, desk.cookie
    );
    stream.write_all(head.as_bytes()).expect("asked");
    let mut all = Vec::new();
    stream.read_to_end(&mut all).expect("an answer");
    let body = all.windows(4).position(|w| w == b"\r\n\r\n").expect("a head") + 4;
    assert!(all.starts_with(b"HTTP/1.1 200"), "{}", String::from_utf8_lossy(&all[..body]));
    all.split_off(body)
}

/// When each step begins, from the film's own list.
fn times(desk: &Desk, at: &str) -> Vec<f64> {
    let csv = desk.get(&format!("{at}/files/times.csv")).body;
    csv.lines().skip(1).filter_map(|l| l.split(',').nth(1)?.parse().ok()).collect()
}

/// The hidden fields of the page where times are typed, but for the token: for which version and steps they are.
fn meant(desk: &Desk, at: &str) -> String {
    let page = desk.get(&format!("{at}/tap")).body;
    let form = page.split("<form class=\"tap\"").nth(1).and_then(|f| f.split("</form>").next()).expect("the form");
    let mut out = form_urlencoded::Serializer::new(String::new());
    for tag in form.split("<input type=\"hidden\" name=\"").skip(1) {
        let (name, rest) = tag.split_once("\" value=\"").expect("a value");
        if name != "token" {
            out.append_pair(name, &rest.split('"').next().expect("its end").replace("&amp;", "&"));
        }
    }
    out.finish()
}

#[test]
fn times_typed_for_one_version_are_not_kept_for_another() {
    let desk = Desk::inside();
    let kept = routine(&desk, "", "Evening");
    let at = film(&desk, FILM);
    let before = meant(&desk, &at);
    let planned = times(&desk, &at);
    let n = planned.len();
    let typed: Vec<String> = (0..=n).map(|i| format!("t{}={}:07", i + 1, i + 1)).collect();
    let sent = format!("{before}&{}&length=", typed.join("&"));
    // In another tab the film takes a newer version.
    another_version(&desk, &kept);
    leads_to(&desk.post(&format!("{at}/version"), ""));
    let planned = times(&desk, &at);
    let back = desk.post(&format!("{at}/tap"), &sent);
    assert_eq!(back.status, 422);
    has(&back.head, "media-src blob:");
    has(&back.body, "The film has other steps than when these times were typed");
    // Nothing of what was typed is lost: beside its step, and the one too many by its number.
    for i in 0..planned.len().min(n) {
        has(&back.body, &format!("value=\"{}:07\"", i + 1));
    }
    has(&back.body, &format!("Step {}: {}:07", n + 1, n + 1));
    assert_eq!(times(&desk, &at), planned, "times of another version were kept");
    // Without those fields it is the same; with those of now it is kept.
    assert_eq!(desk.post(&format!("{at}/tap"), &typed.join("&")).status, 422);
    let now = meant(&desk, &at);
    assert_ne!(now, before);
    let good = format!("{now}&{}&length=", typed[..planned.len()].join("&"));
    leads_to(&desk.post(&format!("{at}/tap"), &good));
    assert_eq!(times(&desk, &at)[0], 67.0);
}

#[test]
fn tapped_times_make_captions_chapters_and_script_anew() {
    let desk = Desk::inside();
    routine(&desk, "", "Evening");
    let at = film(&desk, FILM);
    let planned = times(&desk, &at);
    let vtt = desk.get(&format!("{at}/files/captions.vtt")).body;
    let tap = desk.get(&format!("{at}/tap"));
    has(&tap.head, "media-src blob:");
    lacks(&desk.get(&at).head, "media-src");
    assert_eq!(count(&tap.body, "data-tap=\"row\""), planned.len());
    lacks(&tap.body, "name=\"file\"");

    let n = planned.len();
    let meant = meant(&desk, &at);
    let form = |of: &dyn Fn(usize) -> String, length: &str| {
        let fields: Vec<String> = (0..n).map(|i| format!("t{}={}", i + 1, of(i))).collect();
        format!("{meant}&{}&length={length}", fields.join("&"))
    };
    // What can't be used comes back whole.
    let back = desk
        .post(&format!("{at}/tap"), &form(&|i| if i == 1 { "soon".into() } else { format!("{}", 30 * i + 10) }, "x"));
    assert_eq!(back.status, 422);
    has(&back.head, "media-src blob:");
    has(&back.body, "href=\"#t2\"");
    has(&back.body, "href=\"#length\"");
    has(&back.body, "value=\"soon\"");
    has(&back.body, "value=\"40\"".replace("40", "70").as_str());
    let order = desk.post(&format!("{at}/tap"), &form(&|i| format!("{}", 500 - 10 * i), ""));
    assert_eq!(order.status, 422);
    has(&order.body, "before step 1 at");
    let none = desk.post(&format!("{at}/tap"), &form(&|_| String::new(), ""));
    assert_eq!(none.status, 422);
    let short = desk.post(&format!("{at}/tap"), &form(&|i| format!("{}", 60 * i + 60), "1:00"));
    assert_eq!(short.status, 422);
    has(&short.body, "before its last step begins");
    assert_eq!(times(&desk, &at), planned, "nothing was kept of what was refused");

    // Every second one is tapped; between them the plan's proportions.
    let kept = leads_to(&desk.post(
        &format!("{at}/tap"),
        &form(&|i| if i % 2 == 0 { format!("{}:{:02}.5", i + 1, 3) } else { String::new() }, ""),
    ));
    assert_eq!(kept, format!("{at}?done=tapped"));
    let now = times(&desk, &at);
    for (i, t) in now.iter().enumerate().filter(|(i, _)| i % 2 == 0) {
        assert!((t - (60.0 * (i as f64 + 1.0) + 3.5)).abs() < 1e-6, "{now:?}");
    }
    assert!(now.is_sorted() && now.len() == n);
    assert_ne!(desk.get(&format!("{at}/files/captions.vtt")).body, vtt);
    let page = desk.get(&at).body;
    has(&page, "All times are those of your film");
    has(&desk.get(&format!("{at}/tap")).body, "value=\"1:03.5\"");
    // Another language has the same times.
    leads_to(&desk.post(&format!("{at}/change"), &FILM.replace("language=en", "language=de")));
    assert_eq!(times(&desk, &at), now);
    has(&desk.get(&at).body, "lang=\"de\"");
    // Taken out, they are the planned ones again.
    leads_to(&desk.post(&format!("{at}/change"), FILM));
    assert_eq!(leads_to(&desk.post(&format!("{at}/tap"), "do=clear")), format!("{at}?done=untapped"));
    assert_eq!((times(&desk, &at), desk.get(&format!("{at}/files/captions.vtt")).body), (planned, vtt));
}

#[test]
fn a_newer_version_is_told_and_taken_and_what_the_gate_refuses_is_refused_here() {
    let desk = Desk::inside();
    let kept = routine(&desk, "", "Evening");
    let at = film(&desk, FILM);
    let before = desk.get(&format!("{at}/files/script.md")).body;
    another_version(&desk, &kept);
    let page = desk.get(&at).body;
    has(&page, "The routine has a newer version, number 2. This film shows number 1.");
    assert_eq!(desk.get(&format!("{at}/files/script.md")).body, before, "the film changed by itself");
    assert_eq!(leads_to(&desk.post(&format!("{at}/version"), "")), format!("{at}?done=version"));
    let page = desk.get(&at).body;
    lacks(&page, "has a newer version");
    has(&page, "version 2 of");

    // A version with things to mend shows nothing, gives no file, and says what to do.
    let half = form_of(&act(&desk, &desk.get(&kept).body, "add", "&place=temple.left"));
    leads_to(&desk.post("/routines/edit", &format!("{half}&do=save")));
    leads_to(&desk.post(&format!("{at}/version"), ""));
    let refused = desk.get(&at).body;
    has(&refused, "A film shows only what everybody may do today");
    has(&refused, "href=\"/routines/1\"");
    for part in ["script-title", "captions-title", "/files/"] {
        lacks(&refused, part);
    }
    for path in ["files/captions.vtt", "files/script.md", "all.zip", "stills/wide-day/1.png"] {
        assert_eq!(desk.get(&format!("{at}/{path}")).status, 422, "{path}");
    }
    lacks(&desk.get(&format!("{at}/read")).body, "reading-act");
    lacks(&desk.get(&format!("{at}/tap")).body, "data-tap");
    assert_eq!(desk.post(&format!("{at}/tap"), "t1=0:10").status, 422);
}

#[test]
fn what_is_one_client_s_never_becomes_a_film() {
    let desk = Desk::inside();
    leads_to(&desk.post("/clients/new", "name=Ana+Example"));
    leads_to(&desk.post("/clients/1/consent", "kind=care&given=yes"));
    leads_to(&desk.post(
        "/clients/1/intake",
        "group.today=no&group.heart_and_neck=no&group.eyes=no&group.skin_and_face=no&group.long_term=no",
    ));
    routine(&desk, "?client=1", "Hers");
    let asked = desk.get("/publish/films/new").body;
    lacks(&asked, "Hers");
    let asked = desk.get("/publish/films/new?routine=1").body;
    lacks(&asked, "<form class=\"film-ask\"");
    lacks(&desk.get("/routines/1/ready").body, "/publish/films/new");
    let refused = desk.post("/publish/films/new", FILM);
    assert_eq!(refused.status, 422);
    assert_eq!(desk.get("/publish/films/1").status, 404);
    assert_eq!(desk.get("/publish/films/new?routine=99").status, 404);
}

#[test]
fn what_title_and_own_words_claim_is_told_on_the_page() {
    let desk = Desk::inside();
    routine(&desk, "", "Evening");
    let claims = FILM
        .replace("title=&", "title=This+cures+migraine&")
        .replace("words=A+gift%21", "words=Guaranteed+to+erase+wrinkles");
    let at = film(&desk, &claims);
    let page = desk.get(&at).body;
    let (_, claims) = page.split_once("id=\"claims\"").expect("the findings");
    has(claims, "This is guidance and no legal advice");
    has(&page, "This cures migraine");
    for finding in ["id=\"title-1\"", "id=\"words-1\"", "Not to be said:"] {
        has(claims, finding);
    }
}

#[test]
fn a_film_s_name_is_checked_under_a_title_of_one_s_own_and_the_description_begins_with_that_title() {
    let desk = Desk::inside();
    routine(&desk, "", "Evening");
    let form = FILM.replace("name=Jaw+%3Cbefore%3E+sleep", "name=Erase+wrinkles+and+cure+migraine");
    let at = film(&desk, &form.replace("title=&", "title=Evening&"));
    let page = desk.get(&at).body;
    let (_, claims) = page.split_once("id=\"claims\"").expect("the findings");
    has(claims, "id=\"name-1\"");
    lacks(claims, "id=\"title-1\"");
    let file = desk.get(&format!("{at}/files/description.txt")).body;
    assert!(file.starts_with("Evening\n\n"), "{file}");
    let zip = bytes(&desk, &format!("{at}/all.zip"));
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(zip)).expect("a zip");
    for (name, whole) in [("description.txt", file.as_str()), ("title.txt", "Evening\n")] {
        let mut inside = String::new();
        zip.by_name(name).expect("it is there").read_to_string(&mut inside).expect("text");
        assert_eq!(inside, whole, "{name}");
    }
    // Where the title that is suggested holds the name, it is told once.
    leads_to(&desk.post(&format!("{at}/change"), &form));
    let page = desk.get(&at).body;
    has(&page, "id=\"title-1\"");
    lacks(&page, "id=\"name-1\"");
    assert!(desk.get(&format!("{at}/files/description.txt")).body.starts_with("Erase wrinkles and cure migraine"));
}
