//! Whoever is not the practitioner: other sites' pages, forged requests, addresses that want out of their folder, files that are none;
//! and what can be found of a client on the disk afterwards. Over real HTTP. The routes are those of the sources themselves.

mod visitor;

use std::fs;
use std::path::{Path, PathBuf};

use visitor::{Folder, Visitor, encoded};

const DAY: &str = "2026-03-01";

/// A desk with an empty practice, unlocked.
fn desk(name: &str) -> (Folder, Visitor) {
    let home = Folder::new(name);
    let folder = home.0.join("cabinet").display().to_string();
    let desk = Visitor::start(&home.0, &["--cabinet", &folder, "--today", DAY]);
    assert_eq!(desk.get("/clients").status, 200, "nobody is let in");
    (home, desk)
}

/// A route of the desk: its address, and what stands behind it in the source.
struct Route {
    address: String,
    methods: String,
}

impl Route {
    fn posts(&self) -> bool {
        self.methods.contains("post(")
    }

    fn with(&self, value: &str) -> String {
        let mut out = String::new();
        for (i, part) in self.address.split(['{', '}']).enumerate() {
            out.push_str(if i % 2 == 0 { part } else { value });
        }
        out
    }
}

/// Every route that the desk's sources name.
fn routes() -> Vec<Route> {
    let mut found = Vec::new();
    let mut open = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join("src/desk")];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(folder).expect("the sources") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                open.push(path);
                continue;
            }
            let source = fs::read_to_string(&path).expect("a source");
            for part in source.split(".route(").skip(1) {
                let Some(("", rest)) = part.trim_start().split_once('"') else { continue };
                let Some((address, rest)) = rest.split_once('"') else { continue };
                let mut depth = 1;
                let end = rest.find(|c| {
                    depth += match c {
                        '(' => 1,
                        ')' => -1,
                        _ => 0,
                    };
                    depth == 0
                });
                let methods = rest[..end.unwrap_or(rest.len())].to_owned();
                found.push(Route { address: address.to_owned(), methods });
            }
        }
    }
    assert!(found.len() >= 30 && found.iter().filter(|r| r.posts()).count() >= 20, "{}", found.len());
    found
}

const FORM: &str = "content-type: application/x-www-form-urlencoded\r\n";

#[test]
fn no_change_without_the_token_on_any_route() {
    let (_home, desk) = desk("hostile-token");
    let own = desk.own();
    for route in routes().iter().filter(|r| r.posts()) {
        let path = route.with("1");
        let check = |what: &str, headers: &str, body: &str| {
            let answer = desk.ask("POST", &path, headers, body.as_bytes());
            assert_eq!(answer.status, 403, "{path}: {what}");
        };
        check("no token", &format!("{own}{FORM}"), "name=x");
        check("an empty token", &format!("{own}{FORM}"), "token=&name=x");
        check("another token", &format!("{own}{FORM}"), &format!("token={}&name=x", "0".repeat(32)));
        check("the token not first", &format!("{own}{FORM}"), &format!("name=x&token={}", desk.token));
        check(
            "another in a header",
            &format!("{own}x-token: {}\r\n{FORM}", "f".repeat(32)),
            &format!("token={}", desk.token),
        );
        check("no body", &own, "");
        check("JSON", &format!("{own}content-type: application/json\r\n"), "{\"name\":\"x\"}");
        let parts = "content-type: multipart/form-data; boundary=edge\r\n";
        check(
            "parts without it",
            &format!("{own}{parts}"),
            "--edge\r\ncontent-disposition: form-data; name=\"x\"\r\n\r\n1\r\n--edge--\r\n",
        );
    }
    assert!(desk.get("/clients").text().contains("0 people"), "something was changed");
}

#[test]
fn forged_hosts_origins_and_cookies_reach_nothing() {
    let (_home, desk) = desk("hostile-forged");
    let port = desk.port;
    let (host, cookie) = (format!("host: 127.0.0.1:{port}\r\n"), format!("cookie: {}\r\n", desk.cookie));
    let (token, added) = (&desk.token, "token_and_name");
    let body = format!("token={token}&name=Forged+Person");
    for (what, headers) in [
        ("another host", format!("host: practice.example:{port}\r\norigin: http://127.0.0.1:{port}\r\n{cookie}")),
        ("no host", format!("origin: http://127.0.0.1:{port}\r\n{cookie}")),
        ("two hosts", format!("{host}host: other.example\r\norigin: http://127.0.0.1:{port}\r\n{cookie}")),
        ("another origin", format!("{host}origin: http://other.example\r\n{cookie}")),
        ("another port", format!("{host}origin: http://127.0.0.1:1\r\n{cookie}")),
        ("a file", format!("{host}origin: null\r\n{cookie}")),
        ("another site", format!("{host}sec-fetch-site: cross-site\r\n{cookie}")),
        ("no word of origin", format!("{host}{cookie}")),
        ("no cookie", format!("{host}origin: http://127.0.0.1:{port}\r\n")),
        (
            "another cookie",
            format!("{host}origin: http://127.0.0.1:{port}\r\ncookie: tragion-{port}={}\r\n", "0".repeat(32)),
        ),
        ("another desk's", format!("{host}origin: http://127.0.0.1:{port}\r\ncookie: tragion-1={}\r\n", desk.cookie)),
    ] {
        let answer = desk.ask("POST", "/clients/new", &format!("{headers}{FORM}"), body.as_bytes());
        assert!(matches!(answer.status, 400 | 403), "{what}: {} {added}", answer.status);
    }
    // Reading without the cookie ends at the door, whatever is asked for.
    for route in routes().iter().filter(|r| r.methods.contains("get(")) {
        let path = route.with("1");
        let answer = desk.ask("GET", &path, &host, b"");
        let free = ["/", "/routine", "/map", "/measure", "/people", "/assets", "/begin", "/unlock", "/open"];
        let open = path == "/" || free[1..].iter().any(|f| path.starts_with(f));
        let behind = answer.location().is_some_and(|l| l.starts_with("/unlock"));
        assert!(open || behind, "{path} is answered with {} to a stranger", answer.status);
    }
    assert!(desk.get("/clients").text().contains("0 people"), "somebody was added");
}

#[test]
fn no_address_leaves_its_folder_and_none_is_a_fault() {
    let (_home, desk) = desk("hostile-paths");
    let hostile = [
        "..%2f..%2f..%2f..%2f..%2fetc%2fpasswd",
        "../../../../../../etc/passwd",
        "%2e%2e",
        "..",
        ".",
        "%2e%2e%2fCargo.toml",
        "..%5c..%5cwindows",
        "%00",
        "1%00.jpg",
        "passwd%0d%0aset-cookie:%20x=1",
        "-1",
        "0",
        "9223372036854775807",
        "9223372036854775808",
        "1e9",
        "1;drop%20table%20clients",
        "%27%20or%201=1--",
        "%3Cscript%3Ealert(1)%3C%2Fscript%3E",
        "%ff%fe",
        "%25%32%65",
        "1/../../..",
        "\u{e4}".repeat(1).as_str(),
        "a".repeat(4000).as_str(),
    ]
    .map(str::to_owned);
    let mut asked = 0;
    for route in routes().iter().filter(|r| r.address.contains('{')) {
        for value in &hostile {
            let path = route.with(value);
            for method in ["GET", "POST"] {
                let headers = format!("{}x-token: {}\r\n{FORM}", desk.own(), desk.token);
                let answer = desk.ask(method, &path, &headers, b"");
                let text = answer.text();
                assert!(answer.status < 500 && answer.status != 0, "{method} {path}: {} {text}", answer.status);
                assert!(
                    !text.contains("root:") && !text.contains("[package]") && !text.contains("<script>alert"),
                    "{path}"
                );
                assert!(!answer.head.contains("set-cookie: x=1"), "{path}");
                asked += 1;
            }
        }
    }
    assert!(asked >= 800, "{asked}");
}

#[test]
fn each_address_takes_its_own_methods_only() {
    let (_home, desk) = desk("hostile-methods");
    for route in routes() {
        let path = route.with("1");
        let token = format!("{}x-token: {}\r\n", desk.own(), desk.token);
        for method in ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "PROPFIND"] {
            let without = desk.ask(method, &path, &desk.own(), b"");
            // What is the same for everybody needs no token: there is nothing to change.
            let refused = if path.starts_with("/assets/") { 405 } else { 403 };
            assert_eq!(without.status, refused, "{method} {path} without the token");
            let with = desk.ask(method, &path, &token, b"");
            let declared = route.methods.contains(&format!("{}(", method.to_lowercase()));
            assert!(declared || matches!(with.status, 404 | 405), "{method} {path}: {}", with.status);
        }
        if !route.methods.contains("get(") {
            assert!(matches!(desk.get(&path).status, 404 | 405), "GET {path}");
        }
        let head = desk.ask("HEAD", &path, &format!("{}cookie: {}\r\n", "", desk.cookie), b"");
        assert!(matches!(head.status, 400 | 403), "HEAD {path} without a host: {}", head.status);
    }
}

#[test]
fn names_and_words_are_never_markup() {
    let (_home, desk) = desk("hostile-script");
    let evil = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>";
    let added = desk.post("/clients/new", &[("name", evil), ("notes", evil), ("hands", "both")]);
    assert_eq!(added.status, 303, "{}", added.text());
    let client = added.location().expect("an address").to_owned();
    assert_eq!(desk.post(&format!("{client}/consent"), &[("kind", "care"), ("given", "yes")]).status, 303);
    desk.post(&format!("{client}/notes"), &[("text", evil), ("kind", "note")]);
    let search = format!("/clients?find={}", encoded("<script>"));
    let details = format!("{client}/details");
    for path in [
        client.as_str(),
        "/clients",
        "/due",
        &search,
        &details,
        &format!("/unlock?to={}", encoded(evil)),
        &format!("/clients?done={}", encoded(evil)),
    ] {
        let page = desk.get(path).text();
        assert!(!page.contains("<script>alert") && !page.contains("<img src=x"), "{path}");
        assert!(!page.contains(" onerror=alert(2)>") || page.contains("&gt;"), "{path}");
    }
    assert!(desk.get(&client).text().contains("&lt;script&gt;alert(1)"), "the name is not shown");
    // No page sends anywhere else than to our own.
    for to in ["//other.example", "https://other.example", "/\\other.example", "javascript:alert(1)"] {
        let words = visitor::PASSPHRASE;
        let answer = desk.post("/unlock", &[("to", to), ("passphrase", words)]);
        assert_eq!(answer.location(), Some("/due"), "{to}");
    }
}

#[test]
fn what_belongs_to_one_client_can_not_be_reached_through_another() {
    let (_home, desk) = desk("hostile-ids");
    let mut made = Vec::new();
    for name in ["Ana Example", "Bo Example"] {
        let added = desk.post("/clients/new", &[("name", name), ("hands", "both")]);
        let client = added.location().expect("an address").to_owned();
        desk.post(&format!("{client}/consent"), &[("kind", "care"), ("given", "yes")]);
        made.push(client);
    }
    let words = [("condition", "hypertension"), ("who", "Dr Example"), ("said", "2026-02-01"), ("until", "2026-12-01")];
    assert_eq!(desk.post(&format!("{}/word", made[0]), &words).status, 303);
    assert_eq!(desk.post(&format!("{}/notes", made[0]), &[("text", "hers alone"), ("kind", "note")]).status, 303);
    for path in ["notes/1/remove", "word/1/withdraw"] {
        assert_eq!(desk.post(&format!("{}/{path}", made[1]), &[]).status, 404, "{path}");
    }
    let page = desk.get(&made[0]).text();
    assert!(page.contains("hers alone") && page.contains("Dr Example"));
    assert!(!desk.get(&made[1]).text().contains("hers alone"));
    for path in ["/clients/999", "/clients/999/details", "/clients/999/intake"] {
        assert_eq!(desk.get(path).status, 404, "{path}");
    }
}

#[test]
fn files_that_are_none_and_too_much_are_refused_in_words() {
    let (_home, desk) = desk("hostile-uploads");
    let bomb = {
        // A PNG's header that claims 60 000 x 60 000 pixels.
        let mut png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
        png.extend([0, 0, 0xea, 0x60, 0, 0, 0xea, 0x60, 8, 2, 0, 0, 0, 0, 0, 0, 0]);
        png
    };
    let files: [(&str, Vec<u8>); 6] = [
        ("photo.jpg", b"not a photograph at all".to_vec()),
        ("photo.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>".to_vec()),
        ("photo.html", b"<html><script>alert(1)</script>".to_vec()),
        ("../../../../photo.jpg", vec![0xff, 0xd8, 0xff, 0xe0, 0, 0x10]),
        ("bomb.png", bomb),
        ("photo.jpg", vec![0x41; 101_000_000]),
    ];
    for path in ["/map", "/measure"] {
        for (name, bytes) in &files {
            let answer = desk.upload(path, &[], ("photo", name, bytes));
            let text = answer.text();
            assert!(matches!(answer.status, 200 | 413), "{path} {name}: {}", answer.status);
            assert!(text.contains("role=\"alert\""), "{path} {name} is refused without a word");
            assert!(!text.contains("<script>alert"), "{path} {name}");
        }
        let bare = desk.ask(
            "POST",
            path,
            &format!("{}x-token: {}\r\ncontent-type: text/plain\r\n", desk.own(), desk.token),
            b"x",
        );
        assert_eq!(bare.status, 415, "{path}");
    }
    // A form beyond its bound.
    let long = "x".repeat(5 << 20);
    assert_eq!(desk.post("/clients/new", &[("name", &long)]).status, 413);
    assert!(desk.get("/clients").text().contains("0 people"));
}

/// Files under a folder, however deep.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() { found.extend(files(&path)) } else { found.push(path) }
    }
    found
}

/// After a whole journey no word and no pixel of a client lies in clear: not in the cabinet's folder, nor among temporary files, nor in
/// what the program wrote to its errors.
#[test]
fn nothing_of_a_client_lies_in_clear_after_a_journey() {
    let (home, desk) = desk("hostile-traces");
    let marks = [
        "Quaggarine Zephyrsson",
        "Bontebok Lane 7",
        "okapi.lynx@example.org",
        "a numbat dreamt of it",
        "galago on Thursday",
    ];
    let added = desk.post(
        "/clients/new",
        &[("name", marks[0]), ("address", marks[1]), ("email", marks[2]), ("notes", marks[3]), ("hands", "both")],
    );
    let client = added.location().expect("an address").to_owned();
    for kind in ["care", "photographs"] {
        assert_eq!(desk.post(&format!("{client}/consent"), &[("kind", kind), ("given", "yes")]).status, 303);
    }
    assert_eq!(desk.post(&format!("{client}/notes"), &[("text", marks[4]), ("kind", "note")]).status, 303);
    let photo = {
        let elsewhere = Folder::new("hostile-traces-photo");
        let file = elsewhere.0.join("a.jpg");
        let made = std::process::Command::new(env!("CARGO_BIN_EXE_tragion"))
            .args(["phantom", &file.display().to_string(), "--seed", "7", "--plain"])
            .output()
            .expect("the program runs");
        assert!(made.status.success());
        fs::read(file).expect("a photograph")
    };
    let measured = desk.upload("/measure", &[], ("photo", "front.jpg", &photo));
    assert_eq!(measured.status, 303, "{}", measured.text());
    // There while it is open, so that the search below has something to miss.
    assert!(desk.get(&client).text().contains(marks[4]));
    assert_eq!(desk.get(&format!("/clients?find={}", encoded("quagga"))).status, 200);
    assert_eq!(desk.post("/lock", &[]).status, 303);
    let stderr = desk.end();
    let mut needles: Vec<Vec<u8>> = marks.iter().map(|m| m.as_bytes().to_vec()).collect();
    // Searched for folded, as the index of names has them.
    needles.push(marks[0].to_lowercase().into_bytes());
    needles.extend((1..9).map(|n| photo[n * photo.len() / 10..][..24].to_vec()));
    let holds = |bytes: &[u8], needle: &[u8]| bytes.windows(needle.len()).any(|w| w == needle);
    let looked = files(&home.0);
    assert!(looked.iter().any(|f| f.ends_with("cabinet/store-1.db")), "{looked:?}");
    for file in &looked {
        let bytes = fs::read(file).expect("a file");
        for needle in &needles {
            assert!(!holds(&bytes, needle), "{} holds {:?}", file.display(), String::from_utf8_lossy(needle));
        }
    }
    assert!(needles.iter().all(|n| !holds(stderr.as_bytes(), n)), "{stderr}");
    assert_eq!(stderr, "", "the program said something");
}
