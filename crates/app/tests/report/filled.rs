//! A practice in which weeks have run, with photographs of invented faces: for the journeys and for the papers.

use std::path::Path;

use cabinet::{
    Cabinet, ClientId, ConsentKind, Details, Error, Json, NewPhotograph, NoteKind, Passphrase, Time, VisitId, Writer,
};
use serde_json::{Value, json};
use vocab::Date;

use super::weeks::{Story, fill, plan, stories};

/// A photograph with what was measured on it, as `measure --json` prints it.
pub struct Shot {
    pub bytes: Vec<u8>,
    pub measured: Value,
}

/// Those whose weeks give a report, and what is particular about each.
pub fn told() -> Vec<Story> {
    let mut all = stories();
    let usual =
        |name, change, more| Story { name, ago: 29, plan: plan(more), baseline: 5, change, stress: change, skip: 6, odd: None };
    all.push(usual(LONG, -3.0, json!({ "others": ["brow", "sleep"] })));
    all.push(usual("Mia Sand", 0.4, json!({ "value": "sleep", "others": [] })));
    all
}

/// A name as long as some are.
pub const LONG: &str =
    "Maximiliane Alexandrine Freifrau von Hohenstein-Oberndorff zu Altenkirchen und Wallerfangen am Niederrhein";

/// The practice, with the photographs at the first and the latest visit of everybody who is told of.
pub fn practice(folder: &Path, passphrase: &str, today: Date, shots: &[Shot; 2]) -> Result<Vec<ClientId>, Error> {
    let clients = fill(folder, passphrase, today, &told())?;
    let cabinet = Cabinet::at(folder);
    let now = Time::parse(&format!("{today}T12:00:00Z")).expect("a moment");
    cabinet.unlock(&Passphrase::new(passphrase), now)?;
    cabinet.write(now, |w| {
        for (at, client) in clients.iter().enumerate() {
            let visits = w.visits(*client)?;
            let (Some(first), Some(latest)) = (visits.first(), visits.last()) else { continue };
            // Visits of their own, an hour before the first and after the latest, so that the rule finds them.
            let light = |light: &str, hour: &str| {
                Json::new(json!({ "light": light, "hour": hour, "place": "At the desk", "slept": "Seven hours", "notes": "secret" }).to_string())
            };
            let first = w.add_visit(*client, first.at.plus(-3600), &light("window", "08:15")?)?;
            let latest = w.add_visit(*client, latest.at.plus(3600), &light("lamp", "08:30")?)?;
            for (visit, shot) in [(first, &shots[0]), (latest, &shots[1])] {
                photograph(w, visit, shot)?;
            }
            if told()[at].name == LONG {
                w.record_consent(*client, ConsentKind::Publication, true, now, "publication 1")?;
                let known = w.client(*client)?;
                w.change_client(*client, &Details { language: "de".to_owned(), ..known.details })?;
            }
        }
        w.record_consent(clients[0], ConsentKind::Publication, true, now, "publication 1").map(drop)
    })?;
    for (client, _) in clients.iter().zip(told()).filter(|(_, story)| story.name == LONG) {
        for n in 1..=20 {
            let at = Time::parse(&format!("{}T12:00:00Z", today.plus(n - 25).expect("a day"))).expect("a moment");
            let words =
                format!("Incident {n}: a red spot beside the nose for an hour, after the edge was held too steeply.");
            cabinet.write(at, |w| w.add_note(*client, None, NoteKind::Incident, &words).map(drop))?;
        }
    }
    Ok(clients)
}

fn photograph(w: &Writer<'_>, visit: VisitId, shot: &Shot) -> Result<(), Error> {
    let side = |k: usize| shot.measured["picture"][k].as_u64().and_then(|n| u32::try_from(n).ok()).unwrap_or(1);
    let new =
        NewPhotograph { shot: "front 1", media: "image/jpeg", width: side(0), height: side(1), bytes: &shot.bytes };
    let id = w.add_photograph(visit, &new)?;
    w.add_measurement(visit, Some(id), &Json::new(shot.measured.to_string())?).map(drop)
}
