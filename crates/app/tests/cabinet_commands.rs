//! The commands on a cabinet, on real folders: backup, restore, export, erase, and what each says when it can't.

mod house;

use std::fs;
use std::path::Path;
use std::process::Stdio;

use cabinet::{Cabinet, ClientId, ConsentKind, Cost, Details, NewPhotograph, Passphrase, Time};
use house::{Folder, Said, program};

const WORDS: &str = "horse lamp river seven";

fn now() -> Time {
    Time::from_unix(1_772_000_000)
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

/// A practice with two people, a formula for a name, and a photograph that says where it was taken.
fn practice(folder: &Folder) -> (String, String) {
    let at = folder.file("practice");
    let cabinet = Cabinet::create(Path::new(&at), &Passphrase::new(WORDS), Cost::FOR_TESTS, now()).expect("made");
    let photograph = &with_place();
    cabinet
        .write(now(), |w| {
            let ana = w.add_client(&Details { name: "Ana Example".into(), ..Details::default() })?;
            w.record_consent(ana, ConsentKind::Care, true, now(), "care 1")?;
            w.record_consent(ana, ConsentKind::Photographs, true, now(), "photographs 1")?;
            let visit = w.add_visit(ana, now(), &cabinet::Json::new("{}").expect("JSON"))?;
            let shot = NewPhotograph { shot: "front", media: "image/jpeg", width: 8, height: 8, bytes: photograph };
            w.add_photograph(visit, &shot)?;
            w.add_client(&Details { name: "=1+1".into(), ..Details::default() })
        })
        .expect("written");
    let secret = folder.write("passphrase.txt", format!("{WORDS}\n"));
    (at, secret)
}

/// Runs a command with the passphrase in a file; without one where there is none.
fn run(args: &[&str], secret: Option<&str>) -> Said {
    let mut program = program();
    program.args(args).env_remove("TRAGION_PASSPHRASE_FILE").stdin(Stdio::null());
    if let Some(secret) = secret {
        program.env("TRAGION_PASSPHRASE_FILE", secret);
    }
    let output = program.output().expect("it ends");
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    let said = Said { code: output.status.code().unwrap_or(-1), out: text(output.stdout), err: text(output.stderr) };
    assert!(!said.err.contains("panicked"), "{args:?}: {}", said.err);
    said
}

/// It was refused with these words, and nothing was said on standard output.
fn refused(said: &Said, words: &str) {
    assert_eq!(said.code, 2, "{}{}", said.out, said.err);
    assert!(said.err.contains(words) && said.out.is_empty(), "{words:?} is not in: {}{}", said.err, said.out);
}

fn names(at: &str) -> Vec<String> {
    let cabinet = Cabinet::open(Path::new(at), &Passphrase::new(WORDS), now()).expect("opens");
    cabinet.read(|r| r.clients(None, 10)).expect("read").into_iter().map(|l| l.name).collect()
}

#[test]
fn a_backup_goes_out_and_comes_back() {
    let folder = Folder::new("backup-and-restore");
    let (at, secret) = practice(&folder);
    let stick = folder.file("stick.tragion-backup");
    let made = run(&["backup", "--cabinet", &at, "--out", &stick, "--json"], Some(&secret));
    assert_eq!(made.code, 0, "{}", made.err);
    let told = made.json();
    assert_eq!(told["file"], stick.as_str());
    assert_eq!(told["bytes"].as_u64(), Some(fs::metadata(&stick).expect("there").len()));
    let new = folder.file("new");
    let restored = run(&["restore", &stick, "--cabinet", &new, "--json"], Some(&secret));
    assert_eq!(restored.code, 0, "{}", restored.err);
    assert_eq!((restored.json()["clients"].as_u64(), restored.json()["checked"].as_bool()), (Some(2), Some(true)));
    assert_eq!(names(&new), names(&at));
    // Once more over what is there: that is kept aside and said.
    let again = run(&["restore", &stick, "--cabinet", &new], Some(&secret));
    assert_eq!(again.code, 0, "{}", again.err);
    assert!(again.out.contains("aside"), "{}", again.out);
    // The folder's own backups: the newest two stay.
    for _ in 0..3 {
        assert_eq!(run(&["backup", "--cabinet", &at, "--keep", "2"], Some(&secret)).code, 0);
    }
    let kept = fs::read_dir(Path::new(&at).join("backups")).expect("a folder").count();
    assert_eq!(kept, 2);
    assert!(run(&["backup", "--cabinet", &at], Some(&secret)).out.contains("It was read back and holds"));
}

#[test]
fn what_can_not_be_backed_up_or_restored_says_why() {
    let folder = Folder::new("refused-backups");
    let (at, secret) = practice(&folder);
    let nowhere = folder.file("nowhere");
    refused(&run(&["backup", "--cabinet", &nowhere], Some(&secret)), "There is no cabinet in");
    refused(&run(&["backup", "--cabinet", &at], None), "TRAGION_PASSPHRASE_FILE");
    let wrong = folder.write("wrong.txt", "not this one at all\n");
    refused(&run(&["backup", "--cabinet", &at], Some(&wrong)), "does not open this cabinet");
    let empty = folder.write("empty.txt", "\n");
    refused(&run(&["backup", "--cabinet", &at], Some(&empty)), "empty.txt:1: the first line of this file is empty");
    refused(&run(&["backup", "--cabinet", &at, "--keep", "0"], Some(&secret)), "whole number from 1");
    refused(&run(&["backup", "--cabinet", &at, "--out", &folder.file("")], Some(&secret)), "this is a folder");
    let inside = format!("{at}/store-1.db");
    let before = fs::read(&inside).expect("the store");
    refused(&run(&["backup", "--cabinet", &at, "--out", &inside], Some(&secret)), "the folder of the practice itself");
    assert_eq!(fs::read(&inside).expect("the store"), before);
    let letter = folder.write("letter.txt", "dear Ana");
    refused(&run(&["backup", "--cabinet", &at, "--out", &letter], Some(&secret)), "that is no backup");
    assert_eq!(fs::read(&letter).expect("there"), b"dear Ana");
    refused(&run(&["backup", "--cabinet", &at, "--out", &folder.file("no/such/x")], Some(&secret)), "not there");

    let stick = folder.file("stick.tragion-backup");
    assert_eq!(run(&["backup", "--cabinet", &at, "--out", &stick], Some(&secret)).code, 0);
    let new = folder.file("new");
    refused(&run(&["restore", &letter, "--cabinet", &new], Some(&secret)), "is no whole backup");
    refused(&run(&["restore", &folder.file("none"), "--cabinet", &new], Some(&secret)), "could not be read");
    refused(&run(&["restore", &stick, "--cabinet", &new], Some(&wrong)), "does not open this cabinet");
    let mut bytes = fs::read(&stick).expect("a backup");
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    let damaged = folder.write("damaged.tragion-backup", &bytes);
    refused(&run(&["restore", &damaged, "--cabinet", &new], Some(&secret)), "is no whole backup");
    let short = folder.write("short.tragion-backup", &bytes[..bytes.len() - 1]);
    refused(&run(&["restore", &short, "--cabinet", &new], Some(&secret)), "is no whole backup");
    assert!(!Cabinet::is_in(Path::new(&new)));
    let other = folder.file("other");
    fs::create_dir(&other).expect("a folder");
    fs::write(format!("{other}/mine.txt"), "mine").expect("a file");
    refused(&run(&["restore", &stick, "--cabinet", &other], Some(&secret)), "is not empty");
    let open = Cabinet::open(Path::new(&at), &Passphrase::new(WORDS), now()).expect("opens");
    refused(&run(&["restore", &stick, "--cabinet", &at], Some(&secret)), "is open elsewhere");
    drop(open);
    assert_eq!(names(&at).len(), 2, "nothing of all that touched the practice");
}

#[test]
fn an_export_is_plain_and_harmless() {
    let folder = Folder::new("export-command");
    let (at, secret) = practice(&folder);
    let out = folder.file("out");
    let said = run(&["export", "--cabinet", &at, "--out", &out, "--json"], Some(&secret));
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.err.contains("not encrypted"), "{}", said.err);
    assert_eq!((said.json()["clients"].as_u64(), said.json()["photographs"].as_u64()), (Some(2), Some(1)));
    let table = fs::read_to_string(format!("{out}/clients.csv")).expect("a table");
    assert!(table.contains("'=1+1") && !table.contains(",=1+1"), "{table}");
    let photograph = fs::read(format!("{out}/photographs/client-000001/photograph-000001.jpg")).expect("a photograph");
    assert!(!photograph.windows(4).any(|w| w == b"GPS-"), "the place went along");
    refused(&run(&["export", "--cabinet", &at, "--out", &out], Some(&secret)), "is not empty");
    let one = folder.file("one");
    let said = run(&["export", "--cabinet", &at, "--out", &one, "--client", "2"], Some(&secret));
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.out.contains("1 clients, 0 photographs"), "{}", said.out);
    assert!(!Path::new(&one).join("practice.json").exists());
    refused(
        &run(&["export", "--cabinet", &at, "--out", &folder.file("x"), "--client", "9"], Some(&secret)),
        "number 9",
    );
    refused(&run(&["export", "--cabinet", &at], Some(&secret)), "--out");
    refused(
        &run(&["export", "--cabinet", &at, "--out", &folder.file("x"), "--client", "a"], Some(&secret)),
        "/clients/12",
    );
}

#[test]
fn erasing_needs_a_word_and_says_what_still_holds_it() {
    let folder = Folder::new("erase-command");
    let (at, secret) = practice(&folder);
    assert_eq!(run(&["backup", "--cabinet", &at], Some(&secret)).code, 0);
    refused(&run(&["erase", "--cabinet", &at, "--client", "1"], Some(&secret)), "nothing was erased");
    refused(&run(&["erase", "--cabinet", &at, "--all"], Some(&secret)), "nothing was erased");
    refused(&run(&["erase", "--cabinet", &at, "--yes"], Some(&secret)), "--client");
    refused(
        &run(&["erase", "--cabinet", &at, "--all", "--client", "1", "--yes"], Some(&secret)),
        "cannot be used with",
    );
    refused(&run(&["erase", "--cabinet", &at, "--client", "7", "--yes"], Some(&secret)), "no client with the number 7");
    assert_eq!(names(&at).len(), 2);
    let said = run(&["erase", "--cabinet", &at, "--client", "1", "--yes"], Some(&secret));
    assert_eq!(said.code, 0, "{}", said.err);
    assert!(said.out.contains(".tragion-backup") && said.out.contains("still hold"), "{}", said.out);
    assert_eq!(names(&at), ["=1+1"]);
    let cabinet = Cabinet::open(Path::new(&at), &Passphrase::new(WORDS), now()).expect("opens");
    assert!(cabinet.read(|r| r.client(ClientId::from_number(1))).is_err());
    drop(cabinet);
    let wrong = folder.write("wrong.txt", "not this one at all\n");
    refused(&run(&["erase", "--cabinet", &at, "--all", "--yes"], Some(&wrong)), "does not open");
    let said = run(&["erase", "--cabinet", &at, "--all", "--yes", "--json"], Some(&secret));
    assert_eq!((said.code, said.json()["erased"].as_str()), (0, Some("all")), "{}", said.err);
    assert!(!Path::new(&at).exists(), "the folder and its backups are gone");
}
