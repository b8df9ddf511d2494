//! What the person comes with, and which targets serve it.

use vocab::read::Table;

use super::rows::{look_up, merged, need_u32};
use crate::atlas::{Atlas, Concern, Grade, Link, Shown, TargetIx};

/// The concerns with their links.
pub(super) fn read(roots: &[Table], atlas: &mut Atlas) {
    let mut concerns = Vec::new();
    for row in merged(roots, "concern") {
        let t = &row.table;
        let mut links: Vec<Link> = Vec::new();
        for table in t.tables("link") {
            let table = table.named(&format!("concern `{}`, link", row.id));
            if let Some(link) = link(&table, &row.id, atlas) {
                if links.iter().any(|other| other.target == link.target) {
                    let id = &atlas.target(link.target).id;
                    table.note(format!("concern `{}` links `{id}` twice; keep one of them", row.id));
                } else {
                    links.push(link);
                }
            }
            table.finish();
        }
        if t.tables("link").is_empty() {
            t.note(format!("concern `{}` has no [[concern.link]]; without one nothing serves it", row.id));
        }
        concerns.push(Concern {
            name: t.need_text("name").text,
            known: t.need_text("known").text,
            source: t.need_text("source").text,
            links,
            id: row.id,
        });
        row.table.finish();
    }
    atlas.concerns = concerns;
}

fn link(table: &Table, concern: &str, atlas: &Atlas) -> Option<Link> {
    let grades = [("tradition", Grade::Tradition), ("anatomy", Grade::Anatomy), ("trial", Grade::Trial)];
    let word = table.need_text("target");
    let weight = need_u32(table, "weight", 1, 10);
    let grade = table.need_choice("grade", &grades).unwrap_or(Grade::Tradition);
    let source = table.need_text("source").text;
    if word.text.is_empty() {
        return None;
    }
    let target = TargetIx(look_up(table, "target", &word, atlas.targets.iter().map(|target| target.id.as_str()))?);
    let of = atlas.target(target);
    if let Shown::Never(reason) = &of.shown {
        let message = format!("concern `{concern}` links `{}`, which is not for the hand: {reason}", of.id);
        table.document().note(word.line, message);
        return None;
    }
    if of.techniques.is_empty() {
        let message = format!("concern `{concern}` links `{}`, which no technique works", of.id);
        table.document().note(word.line, message);
        return None;
    }
    Some(Link { target, weight, grade, source })
}
