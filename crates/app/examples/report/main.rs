//! A practice whose weeks give reports, for the tests of the papers: `report FOLDER PASSPHRASE DAY FIRST.jpg FIRST.json LATEST.jpg
//! LATEST.json`; a JSON file is what `measure --json` prints of the photograph. The numbers of the clients are printed.

#[path = "../../tests/report/filled.rs"]
mod filled;
#[path = "../../tests/weeks/filled.rs"]
mod weeks;

use std::path::Path;

use filled::Shot;
use vocab::Date;

fn main() {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let [folder, passphrase, day, pictures @ ..] = given.as_slice() else { panic!("a folder, a passphrase, a day") };
    let shot = |k: usize| {
        let read = |at: usize| std::fs::read(&pictures[at]).unwrap_or_else(|e| panic!("{}: {e}", pictures[at]));
        let said: serde_json::Value = serde_json::from_slice(&read(2 * k + 1)).expect("what was measured");
        Shot { bytes: read(2 * k), measured: said["photos"][0].clone() }
    };
    let day = Date::parse(day).expect("a day");
    let clients = filled::practice(Path::new(folder), passphrase, day, &[shot(0), shot(1)]).expect("a practice");
    for (client, story) in clients.iter().zip(filled::told()) {
        println!("{client} {}", story.name);
    }
}
