//! A practice in which weeks have run, for the browser cases: `weeks FOLDER PASSPHRASE DAY`.

#[path = "../../tests/weeks/filled.rs"]
mod filled;

use std::path::Path;

use vocab::Date;

fn main() {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let [folder, passphrase, day] = given.as_slice() else { panic!("a folder, a passphrase and a day are needed") };
    let day = Date::parse(day).expect("a day");
    filled::fill(Path::new(folder), passphrase, day, &filled::stories()).expect("a practice");
}
