//! Clients from tables and cards: what is read, what is said of what can't be, and that nothing is lost or thrown.

mod common;

use cabinet::*;
use common::{Folder, made, named, now};
use proptest::prelude::*;

fn names(reading: &Reading) -> Vec<(usize, &str)> {
    reading.clients.iter().map(|c| (c.line, c.details.name.as_str())).collect()
}

/// Line, whether it was left out, a word of the message.
fn must_say(reading: &Reading, expected: &[(usize, bool, &str)]) {
    let said: Vec<_> = reading.problems.iter().map(|p| (p.line, p.left_out, p.message.as_str())).collect();
    assert_eq!(said.len(), expected.len(), "{said:#?}");
    for ((line, left_out, message), (l, o, word)) in said.iter().zip(expected) {
        assert!(
            (line, left_out) == (l, o) && message.contains(word),
            "line {line}, {left_out}: {message}; wanted {word}"
        );
    }
}

#[test]
fn a_table_is_read_by_its_headings() {
    let reading = read_csv(
        "\u{feff}Name;E-Mail;Geburtsdatum;Telefon;Lieblingstee;Notes;Sprache\r\n\
         Zoë Müller;z@example.org;28.02.1971;'+43 1 000;Salbei;\"zwei\r\nZeilen\";de-AT\r\n\
         \r\n\
         Ana;;1980;;;;\r\n"
            .as_bytes(),
    );
    must_say(&reading, &[]);
    assert_eq!(names(&reading), [(2, "Zoë Müller"), (5, "Ana")]);
    let first = &reading.clients[0].details;
    assert_eq!(first.birth.map(|b| b.to_string()).as_deref(), Some("1971-02-28"));
    assert_eq!(
        (first.email.as_str(), first.phone.as_str(), first.language.as_str()),
        ("z@example.org", "+43 1 000", "de-AT")
    );
    assert_eq!(first.notes, "Lieblingstee: Salbei\nzwei\r\nZeilen");
    assert_eq!(reading.clients[1].details.birth, Some(Birth::Year(1980)));
}

#[test]
fn rows_that_can_not_be_taken_are_named_and_given_back() {
    let long = "n".repeat(LONGEST_NAME + 1);
    let table = format!(
        "first name,last name,birthday,language,tea\n\
         Ana,Bell,1980-02-30,en,mint\n\
         ,,1990,,\n\
         Bo,Cey,03/04/1970,Germanish!,\n\
         one,two,three,four,five,six\n\
         {long},,,,\n\
         Cleo,,25/12/1960,,\n"
    );
    let reading = read_csv(table.as_bytes());
    assert_eq!(names(&reading), [(2, "Ana Bell"), (4, "Bo Cey"), (7, "Cleo")]);
    must_say(
        &reading,
        &[
            (2, false, "day of birth"),
            (3, true, "name can't be kept"),
            (4, false, "day of birth"),
            (4, false, "language"),
            (5, true, "6 fields, the headings 5"),
            (6, true, "at most 200"),
        ],
    );
    assert_eq!(reading.clients[0].details.notes, "birthday: 1980-02-30\ntea: mint");
    assert_eq!(reading.clients[1].details.notes, "birthday: 03/04/1970\nlanguage: Germanish!");
    assert_eq!(reading.clients[2].details.birth.map(|b| b.to_string()).as_deref(), Some("1960-12-25"));
    // Every row is somewhere: taken, or with its text in the report.
    assert_eq!(reading.problems[1].text, ",,1990,,");
    assert_eq!(reading.problems[4].text, "one,two,three,four,five,six");
}

#[test]
fn files_that_are_no_table_say_what_to_do() {
    let check = |bytes: &[u8], word: &str| {
        let reading = read_csv(bytes);
        assert!(reading.clients.is_empty());
        must_say(&reading, &[(reading.problems[0].line, true, word)]);
    };
    check(b"", "empty");
    check(b"\n\n", "first line is");
    check(b"tea,cup\nmint,big\n", "no heading `name`");
    check(b"PK\x03\x04\x00\x00\x00\x00", "no text");
    check(b"\xff\xfe\x00\xd8", "UTF-16");
    let utf16: Vec<u8> = [0xfeff].into_iter().chain("name\nZoë\n".encode_utf16()).flat_map(u16::to_le_bytes).collect();
    assert_eq!(names(&read_csv(&utf16)), [(2, "Zoë")]);
    let old = read_csv(b"name;tea\nZo\xeb M\xfcller;\x80 3\n");
    assert_eq!((names(&old), old.clients[0].details.notes.as_str()), (vec![(2, "Zoë Müller")], "tea: € 3"));
    must_say(&old, &[(0, false, "Windows-1252")]);
}

#[test]
fn cards_of_both_versions_are_read() {
    let cards = "BEGIN:VCARD\r\nVERSION:3.0\r\nN:Müller;Zoë;Anna;Dr.;\r\nFN:Dr. Zoë Anna Müller\r\n\
        item1.EMAIL;TYPE=INTERNET,HOME:z@example.org\r\nEMAIL:w@example.org\r\nTEL;TYPE=CELL:+43 1 000\r\n\
        ADR;TYPE=HOME:;;Gasse 1\\, Stiege 2;Wien;;1010;Austria\r\nBDAY:1971-02-28\r\n\
        NOTE:quiet\\; please\\nno ta\r\n lk\r\nORG:Bell\\, Sons;Shop\r\nPHOTO;ENCODING=b;TYPE=JPEG:/9j/4AAQ\r\n \
        SkZJRg==\r\nREV:20200101T000000Z\r\nEND:VCARD\r\n\
        begin:vcard\nversion:4.0\nfn:Bo Cey\nLANG;PREF=1:de\nTEL;VALUE=uri;TYPE=\"voice,home\":tel:+49-30-1\n\
        BDAY:--0412\nX-TEA:mint\nGENDER:F\nend:vcard\n\
        BEGIN:VCARD\nVERSION:2.1\nN;CHARSET=UTF-8;ENCODING=QUOTED-PRINTABLE:Gr=C3=BC=\nn;Ida\nBDAY:19900101T120000Z\nEND:VCARD\n";
    let reading = read_vcards(cards.as_bytes());
    assert_eq!(names(&reading), [(1, "Dr. Zoë Anna Müller"), (17, "Bo Cey"), (26, "Ida Grün")]);
    let first = &reading.clients[0].details;
    assert_eq!((first.email.as_str(), first.phone.as_str()), ("z@example.org, w@example.org", "+43 1 000"));
    assert_eq!(first.address, "Gasse 1, Stiege 2\n1010 Wien\nAustria");
    assert_eq!(first.notes, "quiet; please\nno talk\nORG: Bell, Sons; Shop");
    assert_eq!(first.birth.map(|b| b.to_string()).as_deref(), Some("1971-02-28"));
    let second = &reading.clients[1].details;
    assert_eq!((second.language.as_str(), second.phone.as_str()), ("de", "+49-30-1"));
    assert_eq!(second.notes, "BDAY: --0412\nX-TEA: mint\nGENDER: F");
    assert_eq!(reading.clients[2].details.birth.map(|b| b.to_string()).as_deref(), Some("1990-01-01"));
    must_say(&reading, &[(13, false, "PHOTO"), (22, false, "has no year")]);
}

#[test]
fn cards_that_are_not_whole_are_named() {
    let cards = "hello\nBEGIN:VCARD\nVERSION:4.0\nFN:Lost\nBEGIN:VCARD\nFN:Ana\nno colon here\nEND:VCARD\n\
        BEGIN:VCARD\nEMAIL:nobody@example.org\nEND:VCARD\nBEGIN:VCARD\nFN:Cut";
    let reading = read_vcards(cards.as_bytes());
    assert_eq!(names(&reading), [(5, "Ana")]);
    must_say(
        &reading,
        &[
            (1, true, "no part of a vCard"),
            (2, true, "no END:VCARD"),
            (7, false, "not understood"),
            (9, true, "name can't be kept"),
            (12, true, "no END:VCARD"),
        ],
    );
    assert_eq!(reading.clients[0].details.notes, "not understood: no colon here");
    assert!(reading.problems[3].text.contains("nobody@example.org"));
    must_say(&read_vcards(b""), &[(0, true, "no vCard")]);
    must_say(&read_vcards(b"\xff\xfe\x00\xd8"), &[(0, true, "UTF-16")]);
}

#[test]
fn who_is_there_already_is_found_and_all_or_none_is_added() {
    let folder = Folder::new("import");
    let cabinet = made(&folder);
    let born = |name: &str, birth: &str| Details { birth: Birth::parse(birth), ..named(name) };
    let zoe = cabinet.write(now(), |w| w.add_client(&born("Zoë Müller", "1971-02-28"))).expect("written");
    let reading = read_csv(b"name,birth\nZOE MULLER,1971\nZoe Muller,1972\nZoe Muller,\nNew One,\nnew one,1999\n");
    assert_eq!(cabinet.read(|r| r.doubles(&reading)).expect("read"), [(2, zoe), (4, zoe)]);
    let imported = cabinet.write(now(), |w| w.import(&reading, Doubles::LeaveOut)).expect("imported");
    assert_eq!(imported.added.iter().map(|(line, _)| *line).collect::<Vec<_>>(), [3, 5]);
    assert_eq!(
        imported.doubles.iter().map(|(line, _)| *line).collect::<Vec<_>>(),
        [2, 4, 6],
        "the file's own doubles too"
    );
    let all = cabinet.write(now(), |w| w.import(&reading, Doubles::Add)).expect("imported");
    assert_eq!((all.added.len(), cabinet.read(|r| r.client_count()).expect("read")), (5, 8));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    /// Any bytes: no panic, and each client that is offered can be kept.
    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        for reading in [read_csv(&bytes), read_vcards(&bytes)] {
            for client in &reading.clients {
                prop_assert!(client.details.check().is_ok());
            }
        }
    }

    /// Bytes that look like tables and cards.
    #[test]
    fn any_lines_are_read_or_refused(lines in proptest::collection::vec(
        "(name,birth|BEGIN:VCARD|END:VCARD|FN:[a-z\\\\;,=]{0,6}|N;ENCODING=QUOTED-PRINTABLE:[A-F=0-9é]{0,7}|BDAY:[0-9T.é-]{0,10}|[a-z\",;\t\r =+é]{0,12})", 0..12)) {
        let text = lines.join("\n");
        for reading in [read_csv(text.as_bytes()), read_vcards(text.as_bytes())] {
            for client in &reading.clients {
                prop_assert!(client.details.check().is_ok());
            }
            // A card or row is a client or a problem: nothing vanishes.
            let begun = text.lines().filter(|l| l.trim().eq_ignore_ascii_case("BEGIN:VCARD")).count();
            prop_assert!(begun == 0 || !reading.clients.is_empty() || !reading.problems.is_empty());
        }
    }
}
