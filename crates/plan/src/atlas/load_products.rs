//! The tables of the product check: ingredients with their names, and what they mean for whom.

use std::collections::BTreeMap;

use vocab::Class;
use vocab::read::Table;

use super::load::rows::{look_up, merged, merged_by};
use super::load_screening::classes;
use super::{Atlas, ConditionIx, Ingredient, ProductRule};
use crate::product::keys;

const KINDS: &[(&str, &str)] = &[
    ("fragrance_allergen", "fragrance_allergen"),
    ("nut_oil", "nut_oil"),
    ("essential_oil", "essential_oil"),
    ("other", "other"),
];

/// Reads ingredients, then the rules that name them; the conditions must be in the atlas already.
pub(super) fn read(roots: &[Table], atlas: &mut Atlas) {
    ingredients(roots, atlas);
    rules(roots, atlas);
}

fn ingredients(roots: &[Table], atlas: &mut Atlas) {
    let name = |table: &Table| {
        let word = table.need_text("name");
        (!word.text.trim().is_empty()).then_some(word)
    };
    let mut known: BTreeMap<String, String> = BTreeMap::new();
    for row in merged_by(roots, "ingredient", name) {
        let t = &row.table;
        let (also, plants) = (t.words("also"), t.words("plants"));
        for plant in &plants {
            if plant.text.split_whitespace().count() == 0 || keys(&plant.text).contains("") {
                t.document().note(plant.line, format!("`plants` of `{}`: write the plant's Latin name", row.id));
            }
        }
        let line = |word: &str| also.iter().find(|w| w.text == word).map_or(t.line_of("name"), |w| w.line);
        for word in std::iter::once(&row.id).chain(also.iter().map(|w| &w.text)) {
            for key in keys(word) {
                if key.is_empty() {
                    t.document().note(line(word), format!("`{}` has a name without a letter: `{word}`", row.id));
                } else if let Some(other) = known.get(&key).filter(|other| **other != row.id) {
                    let message = format!("`{word}` of `{}` is a name of `{other}` already; keep one of them", row.id);
                    t.document().note(line(word), message);
                } else {
                    known.insert(key, row.id.clone());
                }
            }
        }
        atlas.ingredients.push(Ingredient {
            kind: t.need_choice("kind", KINDS).unwrap_or_default().to_owned(),
            face_limit_bp: t.int("face_limit_bp", 0..=10_000).and_then(|n| u32::try_from(n).ok()),
            note: t.need_text("note").text,
            source: t.need_text("source").text,
            also: also.into_iter().map(|w| w.text).collect(),
            plants: plants.into_iter().map(|w| w.text).collect(),
            name: row.id,
        });
        row.table.finish();
    }
}

fn rules(roots: &[Table], atlas: &mut Atlas) {
    for row in merged(roots, "product_rule") {
        let t = &row.table;
        let class = t.need_choice("class", &classes(&[Class::LeaveOut, Class::AskFirst, Class::Gently]));
        let condition = t.text("condition").and_then(|word| {
            look_up(t, "condition", &word, atlas.conditions.iter().map(|c| c.id.as_str())).map(ConditionIx)
        });
        // A condition that is misspelt must not make a rule for everybody: the file is refused, with the nearest id.
        let kinds: Vec<String> = t
            .words("kinds")
            .into_iter()
            .filter_map(|word| {
                look_up(t, "kinds", &word, KINDS.iter().map(|(k, _)| *k)).map(|ix| KINDS[ix].0.to_owned())
            })
            .collect();
        let known = || atlas.ingredients.iter().map(|i| i.name.as_str());
        let names: Vec<usize> = t.words("names").iter().filter_map(|word| look_up(t, "names", word, known())).collect();
        if !t.has("kinds") && !t.has("names") {
            t.note(format!("`{}`: a rule needs `kinds` or `names`, the ingredients it speaks of", row.id));
        }
        let (says, source) = (t.need_text("says").text, t.need_text("source").text);
        if let Some(class) = class {
            let id = row.id;
            atlas.product_rules.push(ProductRule { id, condition, kinds, names, class, says, source });
        }
        row.table.finish();
    }
}
