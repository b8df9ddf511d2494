//! `product --json`.

use plan::atlas::Atlas;
use plan::product::{Asked, Judged, Limit, Product};
use serde::Serialize;

use crate::catalogue::text;
use crate::tell;

#[derive(Serialize)]
pub struct Checked<'a> {
    reviewed_by_clinician: bool,
    notice: &'static str,
    limits: &'static str,
    class: &'static str,
    verdict: &'static str,
    names: usize,
    found: Vec<Row<'a>>,
    rules: Vec<Rule<'a>>,
    ask: Vec<&'a str>,
    not_judged: &'a [String],
    remarks: &'a [String],
}

#[derive(Serialize)]
struct Row<'a> {
    written: &'a str,
    ingredient: &'a str,
    kind: &'a str,
    position: usize,
    may: bool,
    share_percent: Option<f64>,
    face_limit_percent: Option<f64>,
    limit: &'static str,
    class: &'static str,
    rules: Vec<&'a str>,
    says: String,
    source: &'a str,
}

#[derive(Serialize)]
struct Rule<'a> {
    id: &'a str,
    condition: Option<&'a str>,
    stands: &'static str,
    class: &'static str,
    says: &'a str,
    source: &'a str,
}

impl<'a> Checked<'a> {
    pub fn new(atlas: &'a Atlas, product: &'a Product, judged: &Judged) -> Checked<'a> {
        let row = |row: &plan::product::Row| {
            let found = &product.found[row.found];
            let ingredient = &atlas.ingredients[found.ingredient];
            Row {
                written: &found.written,
                ingredient: &ingredient.name,
                kind: &ingredient.kind,
                position: found.position,
                may: found.may,
                share_percent: found.share_ppm.map(|ppm| f64::from(ppm) / 10_000.0),
                face_limit_percent: ingredient.face_limit_bp.map(|bp| f64::from(bp) / 100.0),
                limit: match row.limit {
                    Limit::None => "none",
                    Limit::Not => "not_for_the_face",
                    Limit::TooStrong(_) => "too_strong",
                    Limit::Unwritten(_) => "share_not_written",
                    Limit::Within(_) => "within",
                },
                class: row.class.word(),
                rules: row.met.iter().map(|m| atlas.product_rules[m.rule].id.as_str()).collect(),
                says: tell::product::about(atlas, found, row),
                source: &ingredient.source,
            }
        };
        let rule = |reason: &plan::product::Reason| {
            let rule = &atlas.product_rules[reason.rule];
            Rule {
                id: &rule.id,
                condition: rule.condition.map(|ix| atlas.conditions[ix.0].id.as_str()),
                stands: match reason.asked {
                    Asked::Everybody => "everybody",
                    Asked::Applies => "applies",
                    Asked::Cleared => "cleared",
                    Asked::Open => "open",
                },
                class: reason.class.word(),
                says: &rule.says,
                source: &rule.source,
            }
        };
        Checked {
            reviewed_by_clinician: false,
            notice: text("page.not_reviewed"),
            limits: text("product.limits"),
            class: judged.class.word(),
            verdict: tell::product::verdict(judged.class),
            names: product.names,
            found: judged.rows.iter().map(row).collect(),
            rules: judged.reasons().iter().map(rule).collect(),
            ask: judged.ask.iter().map(|ix| atlas.conditions[ix.0].id.as_str()).collect(),
            not_judged: &product.unknown,
            remarks: &product.remarks,
        }
    }
}
