//! People for the tests of screening: the day, random answers as files, and what each group must ask for.

use std::sync::OnceLock;

use plan::atlas::{Atlas, Kind, Shown, Target, TargetIx, TechniqueIx};
use proptest::prelude::*;
use vocab::Date;

/// The built-in atlas, read once.
pub fn atlas() -> &'static Atlas {
    static ATLAS: OnceLock<Atlas> = OnceLock::new();
    ATLAS.get_or_init(Atlas::built_in)
}

/// The day of all tests.
pub fn today() -> Date {
    day(0)
}

/// So many days after the day of all tests; before it when negative.
pub fn day(after: i64) -> Date {
    let start = Date::new(2026, 6, 15).expect("a day");
    let wanted = |d: &Date| d.days_since(start) == after;
    let years = 2014..=2030;
    let all = years.flat_map(|y| (1..=12).flat_map(move |m| (1..=31).filter_map(move |d| Date::new(y, m, d))));
    all.into_iter().find(wanted).unwrap_or_else(|| panic!("{after} days from {start} lies too far off"))
}

/// So many days before the day of all tests.
pub fn days_before(days: u32) -> Date {
    day(-i64::from(days))
}

/// The techniques that can be done at a target: its own, and of a zone its opening and closing.
pub fn techniques(atlas: &Atlas, target: TargetIx) -> Vec<TechniqueIx> {
    let data = atlas.target(target);
    let mut all = data.techniques.clone();
    if data.kind == Kind::Zone {
        all.extend([atlas.zone(data.zone).open_technique, atlas.zone(data.zone).close_technique]);
    }
    all
}

/// Whether the atlas marks it as not for the hand.
pub fn is_never(target: &Target) -> bool {
    matches!(target.shown, Shown::Never(_))
}

/// One condition's answer as it stands in a file.
pub fn own_answer() -> impl Strategy<Value = String> {
    (0usize..1000, 0u8..8, 0usize..1000, 0u8..4, 0i64..500).prop_map(|(c, answer, place, side, days)| {
        let data = &atlas().conditions[c % atlas().conditions.len()];
        let mut inside = vec![match answer {
            0..=4 => "answer = \"yes\"".to_owned(),
            5 => return format!("{} = \"unknown\"", data.id),
            _ => return format!("{} = \"no\"", data.id),
        }];
        if !data.places.is_empty() && place % 4 > 0 {
            inside.push(format!("where = [\"{}\"]", atlas().zone(data.places[place % data.places.len()]).id));
        }
        if data.asks_side && side > 0 {
            inside.push(format!("side = \"{}\"", ["left", "right", "both"][usize::from(side) - 1]));
        }
        if data.asks_since && days % 5 > 0 {
            inside.push(format!("since = {}", day(-days)));
        }
        if days % 7 == 0 {
            inside.push(format!("asked = {}", day(-days)));
        }
        if place % 5 == 0 {
            inside.push(format!("cleared = {{ by = \"Dr\", on = {}, until = {} }}", day(-days), day(60 - days)));
        }
        format!("{} = {{ {} }}", data.id, inside.join(", "))
    })
}

/// A whole answers file that reads without a finding.
pub fn answers_file() -> impl Strategy<Value = String> {
    let group = prop_oneof![6 => Just("no"), 1 => Just("yes"), 1 => Just("unknown")];
    let groups = prop::collection::vec(prop::option::weighted(0.9, group), atlas().groups.len());
    let signs = prop::collection::vec(0..atlas().warning_signs.len(), 0..2);
    (groups, prop::collection::vec(own_answer(), 0..12), signs, any::<bool>()).prop_map(|(groups, own, signs, all)| {
        let mut text = String::new();
        if signs.len() == 1 && signs[0] % 3 == 0 {
            text += &format!("warning_signs = [\"{}\"]\n", atlas().warning_signs[signs[0]].id);
        }
        text += "[groups]\n";
        for (group, answer) in atlas().groups.iter().zip(groups) {
            if let Some(answer) = answer {
                text += &format!("{} = \"{answer}\"\n", group.id);
            }
        }
        text += "[conditions]\n";
        let mut seen: Vec<String> = Vec::new();
        for line in own {
            let id = line.split(' ').next().unwrap_or_default().to_owned();
            if !seen.contains(&id) {
                text += &format!("{line}\n");
                seen.push(id);
            }
        }
        for data in atlas().conditions.iter().filter(|c| all && !seen.contains(&c.id)) {
            text += &format!("{} = \"no\"\n", data.id);
        }
        text
    })
}

/// For each condition a word that its group's question or its "think of" must hold.
pub const ASKED_BY: [(&str, &str); 57] = [
    ("acute_infection", "infection"),
    ("oedema_unknown", "swelling without a known cause"),
    ("gca", "headache at the temple"),
    ("dental", "tooth"),
    ("thrombosis", "clot"),
    ("heart_failure", "weak heart"),
    ("svc_obstruction", "blocked large vein"),
    ("carotid_sinus", "fainting when the neck is touched"),
    ("carotid_stenosis", "narrowed neck artery"),
    ("tia_stroke", "stroke"),
    ("age60_neck", "over 60"),
    ("arrhythmia", "uneven heartbeat"),
    ("hyperthyroid", "thyroid"),
    ("hypotension", "very low blood pressure"),
    ("hypertension", "very high"),
    ("anticoagulant", "blood thinners"),
    ("pacemaker", "pacemaker"),
    ("neck_instability", "unsteady"),
    ("glaucoma", "glaucoma"),
    ("retina", "retina"),
    ("eye_surgery", "eye operation"),
    ("keratoconus", "cornea"),
    ("conjunctivitis", "stye"),
    ("contact_lens", "contact lenses"),
    ("lash_brow", "lash extensions"),
    ("facial_surgery", "operation"),
    ("botulinum", "injections to smooth"),
    ("filler", "to fill"),
    ("threads", "threads"),
    ("peel_laser", "peel"),
    ("acne", "inflamed spots"),
    ("rosacea", "rosacea"),
    ("dermatitis", "eczema"),
    ("herpes", "cold sore"),
    ("ringworm", "fungus"),
    ("sunburn", "sunburn"),
    ("isotretinoin", "skin tablets"),
    ("skin_lesion", "mole"),
    ("allergy", "allergy"),
    ("petechiae", "red dots after scraping"),
    ("numb_skin", "numb"),
    ("metal_allergy", "metal"),
    ("renal", "kidneys"),
    ("cancer_active", "cancer"),
    ("asthma", "asthma"),
    ("pregnancy", "pregnancy"),
    ("pregnancy_first_trimester", "pregnancy"),
    ("neuralgia", "face nerve pain"),
    ("fluid_meds", "chemotherapy"),
    ("hot_flushes", "hot flushes"),
    ("port_plate", "catheter"),
    ("shunt", "shunt"),
    ("node_removal", "lymph nodes"),
    ("hearing_implant", "hearing implant"),
    ("minor", "under 18"),
    ("epilepsy", "epilepsy"),
    ("diabetes", "diabetes"),
];
