//! Prints how caption files are read, for other parsers to be held against: one line of JSON a file.
//!
//!     cargo run -p publish --example cues -- FILE...

use serde_json::{Value, json};

fn main() {
    for file in std::env::args().skip(1) {
        println!("{}", told(&file));
    }
}

fn told(file: &str) -> Value {
    let bytes = match std::fs::read(file) {
        Ok(bytes) => bytes,
        Err(error) => return json!({ "file": file, "refused": [error.to_string()] }),
    };
    let read = publish::timed::decode(file, &bytes).and_then(|text| publish::timed::read(file, &text));
    let said = |findings: &[vocab::Finding]| findings.iter().map(ToString::to_string).collect::<Vec<_>>();
    match read {
        Err(findings) => json!({ "file": file, "refused": said(&findings) }),
        Ok(spoken) => {
            let cue = |p: &publish::timed::Piece| json!({ "from": p.from, "to": p.to, "text": p.text, "at": p.at });
            json!({
                "file": file,
                "format": format!("{:?}", spoken.format),
                "cues": spoken.pieces.iter().map(cue).collect::<Vec<_>>(),
                "sentences": spoken.sentences().iter().map(|s| json!({ "text": s.text, "at": s.at })).collect::<Vec<_>>(),
                "notes": said(&spoken.notes),
            })
        }
    }
}
