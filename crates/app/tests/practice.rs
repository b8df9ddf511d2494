//! The practice's page, journey by journey, over HTTP: the desk on a folder of its own, unlocked by a file.

mod house;

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::Path;
use std::process::{Child, Stdio};
use std::sync::Arc;
use std::time::Duration;

use cabinet::{Cabinet, ConsentKind, Cost, Details, Json, NewPhotograph, Passphrase, Time};
use house::{DAY, Folder, program};
use rustls::DigitallySignedStruct;
use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
use sha2::{Digest, Sha256};

const WORDS: &str = "horse lamp river seven";

fn now() -> Time {
    Time::from_unix(1_772_000_000)
}

/// A desk, and a browser that was let in.
struct Practice {
    child: Child,
    port: u16,
    cookie: String,
    token: String,
    at: String,
}

struct Answer {
    status: u16,
    head: String,
    body: Vec<u8>,
}

impl Answer {
    fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The page, with an `assert` that it holds these words.
    fn says(self, status: u16, words: &str) -> String {
        let text = self.text();
        assert_eq!(self.status, status, "{}\n{text}", self.head);
        assert!(text.contains(words), "{words:?} is not on: {text}");
        text
    }

    fn to(&self) -> &str {
        assert_eq!(self.status, 303, "{}\n{}", self.head, self.text());
        self.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("a place to go")
    }
}

impl Practice {
    /// Starts the desk on a folder; with the passphrase it is unlocked.
    fn start(folder: &Folder, unlocked: bool) -> Practice {
        let at = folder.file("practice");
        let mut command = program();
        command.args(["desk", "--no-open", "--today", DAY, "--cabinet", &at]).env_remove("TRAGION_PASSPHRASE_FILE");
        if unlocked {
            command.env("TRAGION_PASSPHRASE_FILE", folder.write("passphrase.txt", format!("{WORDS}\n")));
        }
        let mut child =
            command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::inherit()).spawn().expect("starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("its output")).read_line(&mut line).expect("an address");
        let rest = line.trim().strip_prefix("http://127.0.0.1:").expect("an address").to_owned();
        let (port, path) = rest.split_once('/').expect("a path");
        let port = port.parse().expect("a port");
        let mut practice = Practice { child, port, cookie: String::new(), token: String::new(), at };
        let first = practice.get(&format!("/{path}"));
        let cookie = first.head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).expect("a cookie");
        practice.cookie = cookie.split(';').next().expect("its value").to_owned();
        let page = practice.get(if unlocked { "/practice" } else { "/begin/restore" });
        assert_eq!(page.status, 200, "{}", page.text());
        practice.token = between(&page.text(), "name=\"token\" content=\"", "\"");
        practice
    }

    fn raw(&self, head: &str, body: &[u8]) -> Answer {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("the desk listens");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("a timeout");
        let host =
            format!("host: 127.0.0.1:{0}\r\norigin: http://127.0.0.1:{0}\r\ncookie: {1}\r\n", self.port, self.cookie);
        stream.write_all(format!("{head} HTTP/1.0\r\n{host}").as_bytes()).expect("sent");
        let _ = stream.write_all(body);
        let mut bytes = Vec::new();
        // A connection that breaks off is an answer too.
        let _ = stream.read_to_end(&mut bytes);
        let end = bytes.windows(4).position(|w| w == b"\r\n\r\n").unwrap_or(bytes.len());
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        let head: Vec<String> = head
            .lines()
            .map(|l| l.split_once(": ").map_or(l.to_owned(), |(n, v)| format!("{}: {v}", n.to_lowercase())))
            .collect();
        Answer { status, head: head.join("\n"), body: bytes.split_off((end + 4).min(bytes.len())) }
    }

    fn get(&self, path: &str) -> Answer {
        self.raw(&format!("GET {path}"), b"\r\n")
    }

    fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut form = form_urlencoded::Serializer::new(String::new());
        form.append_pair("token", &self.token).extend_pairs(fields);
        let form = form.finish();
        let head = format!("content-type: application/x-www-form-urlencoded\r\ncontent-length: {}\r\n\r\n", form.len());
        self.raw(&format!("POST {path}"), format!("{head}{form}").as_bytes())
    }

    /// A form with a file in it.
    fn send(&self, path: &str, fields: &[(&str, &str)], file: Option<(&str, &[u8])>) -> Answer {
        let mut body = Vec::new();
        for (name, value) in [("token", self.token.as_str())].iter().chain(fields) {
            body.extend(format!("--b\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").bytes());
        }
        if let Some((name, bytes)) = file {
            let head = "--b\r\ncontent-disposition: form-data; name=\"file\"; filename=";
            body.extend(format!("{head}\"{name}\"\r\ncontent-type: application/octet-stream\r\n\r\n").bytes());
            body.extend(bytes);
            body.extend(b"\r\n");
        }
        body.extend(b"--b--\r\n");
        let head = format!("content-type: multipart/form-data; boundary=b\r\ncontent-length: {}\r\n\r\n", body.len());
        self.raw(&format!("POST {path}"), &[head.as_bytes(), &body].concat())
    }
}

impl Drop for Practice {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn between(text: &str, begin: &str, end: &str) -> String {
    let rest = text.split_once(begin).unwrap_or_else(|| panic!("{begin:?} is not in {text}")).1;
    rest.split(end).next().unwrap_or_default().to_owned()
}

/// A JPEG's shape, with a text in its EXIF that says where it was taken.
fn with_place() -> Vec<u8> {
    let segment = |marker: u8, body: &[u8]| {
        let length = u16::try_from(body.len() + 2).expect("short").to_be_bytes();
        [&[0xff, marker], &length[..], body].concat()
    };
    let exif = segment(0xe1, b"Exif\0\0II\x2a\0\x08\0\0\0\0\0\0\0\0\0GPS-somewhere");
    let (tables, scan) = (segment(0xdb, &[0; 65]), segment(0xda, &[1, 1, 0, 0, 63, 0]));
    [&[0xff, 0xd8][..], &exif, &tables, &scan, &[1, 2, 3, 0xff, 0xd9]].concat()
}

/// A practice on the disk with two people in it.
fn made(folder: &Folder) {
    let at = folder.file("practice");
    let cabinet = Cabinet::create(Path::new(&at), &Passphrase::new(WORDS), Cost::FOR_TESTS, now()).expect("made");
    cabinet
        .write(now(), |w| {
            let ana = w.add_client(&Details { name: "Ana Example".into(), ..Details::default() })?;
            w.record_consent(ana, ConsentKind::Care, true, now(), "care 1")?;
            w.record_consent(ana, ConsentKind::Photographs, true, now(), "photographs 1")?;
            let visit = w.add_visit(ana, now(), &Json::new("{}").expect("JSON"))?;
            let photograph = with_place();
            w.add_photograph(
                visit,
                &NewPhotograph { shot: "front", media: "image/jpeg", width: 8, height: 8, bytes: &photograph },
            )?;
            w.add_client(&Details { name: "=1+1".into(), ..Details::default() })
        })
        .expect("written");
}

/// The files of a zip.
fn unzipped(bytes: &[u8]) -> Vec<(String, Vec<u8>)> {
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(bytes)).expect("a zip");
    (0..zip.len())
        .map(|i| {
            let mut file = zip.by_index(i).expect("a file");
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).expect("whole");
            (file.name().expect("a name").into_owned(), bytes)
        })
        .collect()
}

#[test]
fn the_page_and_its_settings() {
    let folder = Folder::new("practice-settings");
    made(&folder);
    let practice = Practice::start(&folder, true);
    practice.get("/practice").says(200, "There is no backup yet");
    practice.post("/practice/settings", &[("minutes", "0"), ("days", "30")]).says(422, "from 1 to 240");
    practice.post("/practice/settings", &[("minutes", "30"), ("days", "often")]).says(422, "value=\"often\"");
    assert_eq!(practice.post("/practice/settings", &[("minutes", "30"), ("days", "21")]).to(), "/practice?done=saved");
    practice.get("/practice").says(200, "value=\"21\"");
    practice.get("/practice/changes").says(200, "setting");
    practice.post("/practice/check", &[]).to();
    practice.get("/practice/check").says(200, "every page holds");
    // A word mistyped changes nothing, two that differ neither.
    let typed =
        |old, new, again| practice.post("/practice/passphrase", &[("old", old), ("new", new), ("again", again)]);
    typed(WORDS, "another long one", "another long two").says(422, "not the same");
    typed("not it at all", "another long one", "another long one").says(422, "not right");
    typed(WORDS, "short", "short").says(422, "too short");
    assert_eq!(typed(WORDS, "another long one", "another long one").to(), "/practice?done=saved");
    practice.get("/clients").says(200, "Ana Example");
    practice.post("/lock", &[]).to();
    assert!(practice.get("/practice").to().starts_with("/unlock"));
    practice.post("/unlock", &[("passphrase", WORDS)]).says(403, "not the passphrase");
    practice.post("/unlock", &[("passphrase", "another long one")]).to();
    practice.get("/clients").says(200, "Ana Example");
}

#[test]
fn backups_are_made_taken_along_restored_and_deleted() {
    let folder = Folder::new("practice-backups");
    made(&folder);
    let practice = Practice::start(&folder, true);
    let taken = practice.post("/practice/backups/take", &[]);
    assert_eq!(taken.status, 200, "{}", taken.text());
    assert!(
        taken.head.contains("attachment; filename=\"") && taken.body.starts_with(b"# A backup of a Tragion cabinet")
    );
    assert!(!taken.body.windows(3).any(|w| w == b"Ana"), "a name in clear");
    let page = practice.get("/practice/backups").says(200, "whole");
    let name = between(&page, "href=\"/practice/backups/2026", "\"");
    let name = format!("2026{name}");
    assert_eq!(practice.get(&format!("/practice/backups/{name}")).body, taken.body);
    practice.get("/practice/backups/..%2Fcabinet.toml").says(404, "");
    practice.get("/practice/backups/store-1.db").says(404, "");
    practice.post("/clients/new", &[("name", "Later")]).to();
    let restore = |name: &str, words: &str| {
        practice.post("/practice/backups/restore", &[("backup", name), ("passphrase", words)])
    };
    restore(&name, "not it at all").says(422, "not the passphrase of the day");
    practice.get("/clients").says(200, "Later");
    restore("../../x", WORDS).says(404, "");
    assert_eq!(restore(&name, WORDS).to(), "/practice?done=restored");
    let page = practice.get("/clients").says(200, "Ana Example");
    assert!(!page.contains("Later"), "{page}");
    practice.get("/practice/backups").says(200, "Kept aside");
    // A damaged one is said to be, and refused.
    let path = Path::new(&practice.at).join("backups").join(&name);
    let mut bytes = fs::read(&path).expect("a backup");
    bytes[9000] ^= 1;
    fs::write(&path, &bytes).expect("damaged");
    practice.get("/practice/backups").says(200, "damaged");
    assert_eq!(practice.post("/practice/backups/delete", &[("backup", &name)]).to(), "/practice/backups?done=gone");
    assert!(!path.exists());
}

#[test]
fn a_backup_is_restored_on_a_new_machine_before_the_door() {
    let old = Folder::new("practice-old");
    made(&old);
    let stick = old.file("stick.tragion-backup");
    let cabinet = Cabinet::open(Path::new(&old.file("practice")), &Passphrase::new(WORDS), now()).expect("opens");
    cabinet.backup_to(Path::new(&stick), now()).expect("a backup");
    let bytes = fs::read(&stick).expect("a backup");
    let folder = Folder::new("practice-new");
    let practice = Practice::start(&folder, false);
    let send = |words: &str, file: Option<(&str, &[u8])>| {
        practice.send("/begin/restore", &[("passphrase", words), ("which", "")], file)
    };
    send(WORDS, None).says(422, "No backup was chosen");
    let letter = vec![b'x'; 300_000];
    send(WORDS, Some(("letter.tragion-backup", &letter))).says(422, "no whole backup");
    send(WORDS, Some(("short", &bytes[..bytes.len() - 10]))).says(422, "no whole backup");
    let left = || fs::read_dir(Path::new(&practice.at).join("backups")).map_or(0, Iterator::count);
    assert_eq!(left(), 0, "nothing of it stays");
    // A wrong passphrase does not cost the upload again: the backup lies in the folder then.
    let page = send("not it at all", Some(("stick", &bytes))).says(422, "not the passphrase of the day");
    assert_eq!(left(), 1);
    let which = between(&page, "name=\"which\" value=\"", "\"");
    let restored = practice.send("/begin/restore", &[("passphrase", WORDS), ("which", &which)], None);
    assert_eq!(restored.to(), "/practice?done=restored");
    practice.get("/practice?done=restored").says(200, "every page of it holds");
    practice.get("/clients").says(200, "Ana Example");
    // Open, it restores from its own page; locked, it may be restored over, and is kept aside.
    assert_eq!(practice.get("/begin/restore").to(), "/practice/backups");
    practice.post("/lock", &[]).to();
    practice.get("/begin/restore").says(200, "kept aside");
    assert_eq!(send(WORDS, Some(("stick", &bytes))).to(), "/practice?done=restored");
}

#[test]
fn clients_come_from_a_file_after_a_look() {
    let folder = Folder::new("practice-import");
    made(&folder);
    let practice = Practice::start(&folder, true);
    practice.send("/practice/import", &[("pasted", "  ")], None).says(422, "There is nothing in it");
    let table =
        "name,born,email,shoe\r\nBo Example,1980,bo@example.org,42\r\n,1970,nobody@example.org,\r\nAna Example,,,\r\n";
    let page = practice
        .send("/practice/import", &[("pasted", "")], Some(("clients.csv", table.as_bytes())))
        .says(200, "Nothing is kept yet");
    assert!(page.contains("Clients read: 2. Rows left out: 1. Here already by name and birth: 1."), "{page}");
    assert!(page.contains("Line 3:") && page.contains("nobody@example.org"), "{page}");
    assert!(!practice.get("/clients").text().contains("Bo Example"));
    let number = between(&page, "name=\"number\" value=\"", "\"");
    let done = practice.post("/practice/import/now", &[("number", &number), ("doubles", "out")]).says(200, "Added: 1.");
    assert!(done.contains("nobody@example.org"), "the row to mend is handed back: {done}");
    practice.get("/clients").says(200, "Bo Example");
    practice.post("/practice/import/now", &[("number", &number)]).says(422, "no longer waiting");
    let card = "BEGIN:VCARD\r\nVERSION:3.0\r\nFN:Cleo Example\r\nEND:VCARD\r\n";
    practice.send("/practice/import", &[("pasted", card)], None).says(200, "Cleo Example");
}

#[test]
fn everything_goes_along_as_plain_files_and_can_be_erased() {
    let folder = Folder::new("practice-leave");
    made(&folder);
    let practice = Practice::start(&folder, true);
    practice.get("/practice/export").says(200, "not encrypted");
    let whole = practice.get("/practice/export/practice.zip");
    assert!(whole.head.contains("filename=\"practice-2026-03-01.zip\""), "{}", whole.head);
    let files = unzipped(&whole.body);
    let file = |name: &str| files.iter().find(|(n, _)| n == name).unwrap_or_else(|| panic!("no {name}")).1.clone();
    let table = String::from_utf8(file("clients.csv")).expect("UTF-8");
    assert!(table.contains("'=1+1") && !table.contains(",=1+1"), "{table}");
    let photograph = file("photographs/client-000001/photograph-000001.jpg");
    assert!(photograph.starts_with(&[0xff, 0xd8]) && !photograph.windows(4).any(|w| w == b"GPS-"));
    assert!(
        files.iter().any(|(n, _)| n == "practice.json") && files.iter().any(|(n, _)| n == "clients/client-000002.json")
    );
    let one = unzipped(&practice.get("/clients/1/export/client.zip").body);
    assert!(one.iter().all(|(n, _)| n != "practice.json" && !n.contains("000002")), "somebody else's files");
    practice.get("/clients/99/export").says(404, "no client with the number 99");
    practice.get("/clients/99/export/client.zip").says(404, "no client with the number 99");
    // Nothing of it lies in clear in the folder.
    for entry in fs::read_dir(&practice.at).expect("a folder").filter_map(Result::ok).filter(|e| e.path().is_file()) {
        let bytes = fs::read(entry.path()).expect("a file");
        assert!(!bytes.windows(11).any(|w| w == b"Ana Example"), "{:?}", entry.path());
    }
    practice.post("/practice/backups", &[]).to();
    let page = practice.get("/clients/1/erase").says(200, "photographs 1");
    assert!(page.contains("the backup of 1 March 2026"), "{page}");
    practice.post("/clients/1/erase", &[("name", "Ana")]).says(422, "Nothing was erased");
    assert_eq!(practice.post("/clients/1/erase", &[("name", " ana  example ")]).to(), "/clients?done=gone");
    practice.get("/clients/1").says(404, "");
    practice.post("/practice/erase", &[("words", "yes")]).says(422, "Nothing was erased");
    assert_eq!(practice.post("/practice/erase", &[("words", "Erase everything")]).to(), "/begin");
    assert!(!Cabinet::is_in(Path::new(&practice.at)));
    practice.get("/begin").says(200, "Keep a practice here");
}

const POINT: &[(&str, &str)] = &[
    ("name", "Rest of the cheek"),
    ("sides", "lateral"),
    ("zone", "cheek_front"),
    ("find", "In the middle of the cheek."),
    ("mm_across", "46"),
    ("mm_up", "-50,3"),
    ("rule", "Where it was tapped."),
    ("techniques", "hold"),
    ("pressure", "light"),
    ("source", "own"),
];

/// The same fields, one of them otherwise.
fn but<'f>(fields: &[(&'f str, &'f str)], key: &str, value: &'f str) -> Vec<(&'f str, &'f str)> {
    fields.iter().map(|(k, v)| (*k, if *k == key { value } else { *v })).collect()
}

#[test]
fn an_own_point_stands_on_the_map_while_the_practice_is_open() {
    let folder = Folder::new("practice-own");
    made(&folder);
    let practice = Practice::start(&folder, true);
    let new = "/practice/own/points/new";
    practice.get(new).says(200, "Tap the drawn face");
    practice.post(new, &but(POINT, "name", "")).says(422, "id=\"name-wrong\"");
    practice.post(new, &but(POINT, "mm_up", "high")).says(422, "id=\"mm_up-wrong\"");
    practice.post(new, &but(POINT, "mm_up", "")).says(422, "needs both numbers");
    practice.post(new, &but(POINT, "mm_across", "300")).says(422, "beside the drawn face");
    practice.post(new, &but(POINT, "pressure", "firm")).says(422, "id=\"pressure-wrong\"");
    practice.post(new, &but(POINT, "zone", "nowhere")).says(422, "id=\"zone-wrong\"");
    // It can't be said to lie on the forehead while it lies on the cheek: the cheek's rules would not count.
    practice.post(new, &but(POINT, "zone", "forehead")).says(422, "lies in another place of the hand");
    assert!(practice.get("/map/drawn").text().find("Rest of the cheek").is_none());
    assert_eq!(practice.post(new, POINT).to(), "/practice/own/points?done=saved");
    practice.get("/practice/own/points").says(200, "Rest of the cheek");
    practice.get("/practice/own/points/row/own_rest_of_the_cheek").says(200, "value=\"-50.3\"");
    assert!(practice.get("/map/drawn").text().to_lowercase().contains("rest of the cheek"), "it is not on the map");
    // Changed, and back again by its history.
    let row = "/practice/own/points/row/own_rest_of_the_cheek";
    practice.post(row, &but(POINT, "name", "Rest of the other cheek")).to();
    let page = practice.get("/practice/own/points").says(200, "Earlier states");
    let state = between(&page, "name=\"state\" value=\"", "\"");
    practice.post("/practice/own/points/back", &[("state", &state)]).to();
    let page = practice.get("/practice/own/points").says(200, "Rest of the cheek");
    assert!(
        !page.contains("<h2><a href=\"/practice/own/points/row/own_rest_of_the_cheek\">Rest of the other cheek"),
        "{page}"
    );
    // Locked, the atlas is the one that ships; unlocked it is there again.
    practice.post("/lock", &[]).to();
    assert!(!practice.get("/map/drawn").text().to_lowercase().contains("rest of the cheek"), "it stays after the lock");
    practice.post("/unlock", &[("passphrase", WORDS)]).to();
    assert!(practice.get("/map/drawn").text().to_lowercase().contains("rest of the cheek"), "it does not come back");
    practice.post(&format!("{row}/delete"), &[]).to();
    practice.get("/practice/own/points").says(200, "There is none yet");
}

#[test]
fn own_tools_techniques_lines_and_products_are_kept() {
    let folder = Folder::new("practice-own-tools");
    made(&folder);
    let practice = Practice::start(&folder, true);
    let tool = [
        ("name", "Steel spoon"),
        ("like", "edge_metal"),
        ("contact_mm2", "100"),
        ("care", "Wash it."),
        ("grams_featherlight", "20"),
        ("grams_light", "41"),
        ("grams_firm", "82"),
        ("source", "own"),
    ];
    practice.post("/practice/own/tools/new", &but(&tool, "like", "")).says(422, "id=\"like-wrong\"");
    practice.post("/practice/own/tools/new", &but(&tool, "grams_light", "5")).says(422, "grams must grow");
    practice.post("/practice/own/tools/new", &tool).to();
    let technique = [
        ("name", "Spoon stroke"),
        ("like", "edge_stroke"),
        ("says", "Draw the spoon slowly outward."),
        ("direction", "outward"),
        ("mark", "stroke"),
        ("tools", "own_steel_spoon"),
        ("pressures", "featherlight"),
        ("pressures", "light"),
        ("min_s", "10"),
        ("max_s", "30"),
        ("source", "own"),
    ];
    practice.post("/practice/own/techniques/new", &but(&technique, "max_s", "33")).says(422, "5-second strides");
    practice.post("/practice/own/techniques/new", &technique).to();
    let line = [
        ("name", "Along the jaw"),
        ("sides", "lateral"),
        ("zone", "jaw_muscle"),
        ("crosses", "jaw_muscle"),
        ("direction", "from the chin to the ear"),
        ("find", "Along the bone."),
        ("dwell", "the chin\r\nthe ear"),
        ("techniques", "own_spoon_stroke"),
        ("pressure", "featherlight"),
        ("lap_s", "10"),
        ("most_laps", "3"),
        ("source", "own"),
    ];
    practice.post("/practice/own/lines/new", &but(&line, "lap_s", "ten")).says(422, "from 2 to 60");
    practice.post("/practice/own/lines/new", &line).to();
    // What is still used is not taken out.
    practice.post("/practice/own/tools/row/own_steel_spoon/delete", &[]).says(422, "would not fit any more");
    practice.get("/practice/own/tools").says(200, "Steel spoon");
    let product = [("name", "Plain oil"), ("ingredients", "Helianthus Annuus Seed Oil, \"Limonene\"")];
    practice.post("/practice/own/products/new", &product).to();
    practice.get("/practice/own/products/row/own_plain_oil").says(200, "&quot;Limonene&quot;");
    // A product changes nothing of the map, and everything is there after the next start.
    drop(practice);
    let practice = Practice::start(&folder, true);
    practice.get("/practice/own/lines/row/own_along_the_jaw").says(200, "the chin\nthe ear");
    practice.get("/practice").says(200, "Own tools");
}

/// The most memory the desk has held so far, in kilobytes.
#[cfg(target_os = "linux")]
fn most_memory(practice: &Practice) -> u64 {
    let status = fs::read_to_string(format!("/proc/{}/status", practice.child.id())).expect("its status");
    between(&status, "VmHWM:", "kB").trim().parse().expect("a number")
}

/// 80 MB of photographs: neither an export nor an upload is in memory whole, and nobody who takes nothing holds a lock up.
#[test]
#[cfg(target_os = "linux")]
fn large_files_flow_through_and_a_lock_does_not_wait_for_them() {
    let old = Folder::new("practice-large");
    made(&old);
    let at = old.file("practice");
    let cabinet = Cabinet::open(Path::new(&at), &Passphrase::new(WORDS), now()).expect("opens");
    // Bytes that no packing makes smaller.
    let mut state = 1_u64;
    let mut noise = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as u8
    };
    cabinet
        .write(now(), |w| {
            let visit = w.visits(cabinet::ClientId::from_number(1))?[0].id;
            for _ in 0..16 {
                let bytes: Vec<u8> = (0..5_000_000).map(|_| noise()).collect();
                let shot = NewPhotograph { shot: "front", media: "image/jpeg", width: 8, height: 8, bytes: &bytes };
                w.add_photograph(visit, &shot)?;
            }
            Ok(())
        })
        .expect("written");
    let stick = old.file("stick.tragion-backup");
    let backup = cabinet.backup_to(Path::new(&stick), now()).expect("a backup");
    assert!(backup.size > 80_000_000, "{}", backup.size);
    drop(cabinet);

    let new = Folder::new("practice-large-new");
    let practice = Practice::start(&new, false);
    let before = most_memory(&practice);
    let bytes = fs::read(&stick).expect("a backup");
    let sent =
        practice.send("/begin/restore", &[("passphrase", "not it at all"), ("which", "")], Some(("stick", &bytes)));
    sent.says(422, "not the passphrase of the day");
    let grown = most_memory(&practice) - before;
    assert!(grown < 30_000, "an upload of {} bytes took {grown} kB", bytes.len());
    drop(practice);

    let practice = Practice::start(&old, true);
    // So large a store is looked at whole beside the work, and the result stands on the page.
    let looked = (0..600).any(|_| {
        std::thread::sleep(Duration::from_millis(100));
        practice.get("/practice").text().contains("The whole store was looked at: every page holds.")
    });
    assert!(looked, "the look at the whole store came to no end within a minute");
    let before = most_memory(&practice);
    let whole = practice.get("/practice/export/practice.zip");
    assert!(whole.body.len() > 80_000_000, "{} bytes", whole.body.len());
    let grown = most_memory(&practice) - before;
    assert!(grown < 45_000, "an export of {} bytes took {grown} kB", whole.body.len());
    // Somebody begins to take it along, and takes nothing.
    let mut stalled = TcpStream::connect(("127.0.0.1", practice.port)).expect("the desk listens");
    let host = format!("host: 127.0.0.1:{}\r\ncookie: {}\r\n", practice.port, practice.cookie);
    stalled.write_all(format!("GET /practice/export/practice.zip HTTP/1.0\r\n{host}\r\n").as_bytes()).expect("sent");
    let mut first = [0; 12];
    stalled.read_exact(&mut first).expect("it begins");
    std::thread::sleep(Duration::from_millis(500));
    let since = std::time::Instant::now();
    assert_eq!(practice.post("/lock", &[]).to(), "/unlock");
    assert!(since.elapsed() < Duration::from_secs(5), "the lock waited {:?}", since.elapsed());
    // What is broken off is no whole file.
    let mut rest = Vec::new();
    let _ = stalled.read_to_end(&mut rest);
    assert!(rest.len() < 80_000_000, "{} bytes came after the lock", rest.len());
}

/// A browser on the network: TLS 1.3, and only under the certificate whose fingerprint the desk shows.
#[derive(Debug)]
struct Pinned(String, Arc<rustls::crypto::CryptoProvider>);

impl ServerCertVerifier for Pinned {
    fn verify_server_cert(
        &self,
        certificate: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: UnixTime,
    ) -> Result<ServerCertVerified, rustls::Error> {
        let pairs: Vec<String> = Sha256::digest(certificate).iter().map(|b| format!("{b:02X}")).collect();
        let known = pairs.join(" ") == self.0;
        if known {
            Ok(ServerCertVerified::assertion())
        } else {
            Err(rustls::Error::General("another certificate".into()))
        }
    }

    fn verify_tls12_signature(
        &self,
        _: &[u8],
        _: &CertificateDer<'_>,
        _: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        Err(rustls::Error::General("TLS 1.3 alone".into()))
    }

    fn verify_tls13_signature(
        &self,
        message: &[u8],
        certificate: &CertificateDer<'_>,
        signed: &DigitallySignedStruct,
    ) -> Result<HandshakeSignatureValid, rustls::Error> {
        rustls::crypto::verify_tls13_signature(message, certificate, signed, &self.1.signature_verification_algorithms)
    }

    fn supported_verify_schemes(&self) -> Vec<rustls::SignatureScheme> {
        self.1.signature_verification_algorithms.supported_schemes()
    }
}

/// A device with its cookie and token.
struct Device {
    config: Arc<rustls::ClientConfig>,
    at: SocketAddr,
    cookie: String,
    token: String,
}

impl Device {
    fn new(at: SocketAddr, fingerprint: &str) -> Device {
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = rustls::ClientConfig::builder_with_provider(provider.clone())
            .with_safe_default_protocol_versions()
            .expect("versions")
            .dangerous()
            .with_custom_certificate_verifier(Arc::new(Pinned(fingerprint.to_owned(), provider)))
            .with_no_client_auth();
        let mut device = Device { config: Arc::new(config), at, cookie: String::new(), token: String::new() };
        let page = device.get("/pair");
        let cookie = page.head.lines().find_map(|l| l.strip_prefix("set-cookie: ")).expect("a cookie");
        assert!(cookie.contains("; Secure") && cookie.contains("SameSite=Strict"), "{cookie}");
        device.cookie = cookie.split(';').next().expect("its value").to_owned();
        device.token = between(&page.says(200, "Pair this device"), "name=\"token\" content=\"", "\"");
        device
    }

    fn connect(&self) -> std::io::Result<rustls::StreamOwned<rustls::ClientConnection, TcpStream>> {
        let stream = TcpStream::connect(self.at)?;
        stream.set_read_timeout(Some(Duration::from_secs(30)))?;
        let name = ServerName::IpAddress(self.at.ip().into());
        let client = rustls::ClientConnection::new(self.config.clone(), name).map_err(std::io::Error::other)?;
        Ok(rustls::StreamOwned::new(client, stream))
    }

    fn raw(&self, request: &str) -> std::io::Result<Answer> {
        let mut tls = self.connect()?;
        tls.write_all(request.as_bytes())?;
        let mut bytes = Vec::new();
        // The desk ends the connection without a farewell at times.
        let _ = tls.read_to_end(&mut bytes);
        let end = bytes.windows(4).position(|w| w == b"\r\n\r\n").unwrap_or(bytes.len());
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
        Ok(Answer { status, head, body: bytes.split_off((end + 4).min(bytes.len())) })
    }

    fn head(&self, method: &str, path: &str, host: &str) -> String {
        format!("{method} {path} HTTP/1.0\r\nhost: {host}\r\norigin: https://{host}\r\ncookie: {}\r\n", self.cookie)
    }

    fn get(&self, path: &str) -> Answer {
        self.raw(&format!("{}\r\n", self.head("GET", path, &self.at.to_string()))).expect("an answer")
    }

    fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut form = form_urlencoded::Serializer::new(String::new());
        let form = form.append_pair("token", &self.token).extend_pairs(fields).finish();
        let head = self.head("POST", path, &self.at.to_string());
        let media = "content-type: application/x-www-form-urlencoded";
        self.raw(&format!("{head}{media}\r\ncontent-length: {}\r\n\r\n{form}", form.len())).expect("an answer")
    }
}

/// Where the desk listens, its certificate's fingerprint, and the code of now.
fn shown(practice: &Practice) -> (SocketAddr, String, String) {
    let page = practice.get("/practice/devices").text();
    let at = between(&page, "<strong>https://", "/pair").parse().expect("an address");
    (at, between(&page, "<code>", "</code>"), between(&page, "class=\"pairing\">", "<"))
}

#[test]
fn a_device_is_paired_by_the_code_and_gets_in_while_the_practice_is_open() {
    let folder = Folder::new("practice-devices");
    made(&folder);
    let practice = Practice::start(&folder, true);
    practice.get("/practice/devices").says(200, "Turn it on");
    practice.get("/pair").says(404, "");
    let on = |address: &str| practice.post("/practice/devices/on", &[("address", address)]);
    on("8.8.8.8").says(422, "no address of a home network");
    on("0.0.0.0").says(422, "no address of a home network");
    on("10.255.255.254").says(422, "Nothing could be opened");
    assert_eq!(on("127.0.0.1").to(), "/practice/devices");
    let (at, print, code) = shown(&practice);
    // In clear, or under another certificate, there is nothing.
    let mut plain = TcpStream::connect(at).expect("it listens");
    plain.set_read_timeout(Some(Duration::from_secs(20))).expect("a timeout");
    plain.write_all(format!("GET /pair HTTP/1.0\r\nhost: {at}\r\n\r\n").as_bytes()).expect("sent");
    let mut bytes = Vec::new();
    let _ = plain.read_to_end(&mut bytes);
    assert!(!bytes.windows(4).any(|w| w == b"HTTP"), "an answer in clear");
    let device = Device::new(at, &print);
    assert!(
        Device { config: Device::other(&print), at, cookie: String::new(), token: String::new() }.raw("x").is_err()
    );
    // Unpaired: the pairing page and nothing else.
    for path in [
        "/",
        "/due",
        "/clients",
        "/clients/1",
        "/map/drawn",
        "/practice",
        "/unlock",
        "/begin/restore",
        "/open/x",
        "/nothing",
    ] {
        device.get(path).says(403, "not paired");
    }
    device.post("/unlock", &[("passphrase", WORDS)]).says(403, "not paired");
    device.post("/routine", &[]).says(403, "not paired");
    // Another host's name, another origin, no token.
    let rebound = device.raw(&format!("{}\r\n", device.head("GET", "/pair", "rebound.example")));
    assert_eq!(rebound.expect("an answer").status, 403);
    let named = device.raw(&format!("{}\r\n", device.head("GET", "/pair", &format!("localhost:{}", at.port()))));
    assert_eq!(named.expect("an answer").status, 403);
    let stranger = Device { token: "0".repeat(32), cookie: device.cookie.clone(), config: device.config.clone(), at };
    assert_eq!(stranger.post("/pair", &[("code", &code)]).status, 403);
    // A wrong code, then the right one; a code lets one device in.
    let wrong = if code == "000000" { "111111" } else { "000000" };
    device.post("/pair", &[("code", wrong)]).says(403, "not the code");
    let spaced = format!("{} {}", &code[..3], &code[3..]);
    assert!(device.post("/pair", &[("code", &spaced), ("name", "tablet <b>")]).head.contains("/due"));
    device.get("/clients").says(200, "Ana Example");
    let second = Device::new(at, &print);
    second.post("/pair", &[("code", &code)]).says(403, "no longer counts");
    second.get("/clients").says(403, "not paired");
    practice.get("/practice/devices").says(200, "tablet &lt;b&gt;");
    // What is the desk's alone.
    for path in ["/practice", "/practice/backups", "/practice/devices", "/begin/restore", "/unlock", "/clients/1/erase"]
    {
        device.get(path).says(403, "At the desk only");
    }
    device.post("/practice/erase", &[("words", "erase everything")]).says(403, "At the desk only");
    // Locked at the desk it is out, unlocked it is in again.
    practice.post("/lock", &[]).to();
    device.get("/clients").says(403, "locked at the desk");
    device.get("/map/drawn").says(403, "locked at the desk");
    device.post("/unlock", &[("passphrase", WORDS)]).says(403, "locked at the desk");
    practice.post("/unlock", &[("passphrase", WORDS)]).to();
    device.get("/clients").says(200, "Ana Example");
    practice.post("/practice/devices/1/revoke", &[]).to();
    device.get("/clients").says(403, "not paired");
}

#[test]
fn wrong_codes_use_a_code_up_and_turning_off_closes_at_once() {
    let folder = Folder::new("practice-codes");
    made(&folder);
    let practice = Practice::start(&folder, true);
    practice.post("/practice/devices/on", &[("address", "127.0.0.1")]).to();
    let (at, print, code) = shown(&practice);
    let device = Device::new(at, &print);
    let wrong = if code == "000000" { "111111" } else { "000000" };
    for _ in 0..5 {
        device.post("/pair", &[("code", wrong)]).says(403, "not the code");
    }
    device.post("/pair", &[("code", &code)]).says(403, "no longer counts");
    practice.get("/practice/devices").says(200, "There is no code at the moment");
    practice.post("/practice/devices/code", &[]).to();
    let (_, _, code) = shown(&practice);
    assert!(device.post("/pair", &[("code", &code)]).head.contains("/due"));
    // A connection that is open is cut when it is turned off.
    let mut tls = device.connect().expect("open");
    let head = format!("GET /clients HTTP/1.1\r\nhost: {at}\r\ncookie: {}\r\n\r\n", device.cookie);
    tls.write_all(head.as_bytes()).expect("sent");
    let mut first = [0; 12];
    tls.read_exact(&mut first).expect("an answer");
    assert_eq!(&first, b"HTTP/1.1 200");
    let since = std::time::Instant::now();
    practice.post("/practice/devices/off", &[]).to();
    let mut rest = Vec::new();
    let _ = tls.read_to_end(&mut rest);
    assert!(since.elapsed() < Duration::from_secs(5), "{:?}", since.elapsed());
    assert!(TcpStream::connect(at).is_err(), "it still listens");
    // Turned on again it is another address and certificate, and nobody is paired.
    practice.post("/practice/devices/on", &[("address", "127.0.0.1")]).to();
    let (again, other, _) = shown(&practice);
    assert_ne!(other, print);
    let mut old = Device::new(again, &other);
    old.cookie = device.cookie.replace(&at.port().to_string(), &again.port().to_string());
    old.get("/clients").says(403, "not paired");
}

impl Device {
    /// Trusts another certificate than the desk's.
    fn other(print: &str) -> Arc<rustls::ClientConfig> {
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let verifier = Arc::new(Pinned(print.replace(|c: char| c.is_ascii_hexdigit(), "0"), provider.clone()));
        let builder = rustls::ClientConfig::builder_with_provider(provider).with_safe_default_protocol_versions();
        Arc::new(
            builder.expect("versions").dangerous().with_custom_certificate_verifier(verifier).with_no_client_auth(),
        )
    }
}
