//! The product check in words: the same sentences on the page and on the command line.

use std::fmt::Write;

use plan::atlas::Atlas;
use plan::product::{Asked, Found, Judged, Limit, Product, Reason, Row};
use vocab::Class;

use crate::catalogue::{fill, full_stop, lower_first, text};

/// So many names stand beside a rule; the others are counted.
const NAMED: usize = 3;

/// What is to be done with the product.
pub fn verdict(class: Class) -> &'static str {
    match class {
        Class::LeaveOut | Class::Stop => text("product.leave_out"),
        Class::AskFirst => text("product.ask_first"),
        Class::Gently => text("product.gently"),
        Class::Go => text("product.nothing"),
    }
}

/// The heading over what has this class.
pub fn heading(class: Class) -> &'static str {
    match class {
        Class::LeaveOut | Class::Stop => text("product.group_leave_out"),
        Class::AskFirst => text("product.group_ask_first"),
        Class::Gently | Class::Go => text("product.group_gently"),
    }
}

/// How many names were read.
pub fn counted(product: &Product) -> String {
    let unknown = product.unknown.len();
    fill("product.counted", &[("names", &product.names), ("found", &(product.names - unknown)), ("unknown", &unknown)])
}

/// A rule: for whom, what to do.
pub fn reason(atlas: &Atlas, reason: &Reason) -> String {
    let rule = &atlas.product_rules[reason.rule];
    let condition = rule.condition.map(|ix| &atlas.conditions[ix.0]);
    let name = condition.map(|c| lower_first(&c.name)).unwrap_or_default();
    match reason.asked {
        Asked::Everybody => format!("{} {}", text("product.everybody"), rule.says),
        Asked::Applies => format!("{} {}", fill("product.applies", &[("condition", &name)]), rule.says),
        Asked::Cleared => format!("{} {}", fill("product.cleared", &[("condition", &name)]), rule.says),
        Asked::Open => {
            let question = condition.map_or("", |c| c.question.as_str());
            fill("product.open", &[("question", &question), ("says", &rule.says)])
        }
    }
}

/// The names that a rule touches, as they were written.
pub fn names(product: &Product, reason: &Reason) -> String {
    let mut written: Vec<&str> = reason.found.iter().map(|ix| product.found[*ix].written.as_str()).collect();
    written.dedup();
    // Each of them stands below with all that is known of it.
    let more = written.len().saturating_sub(NAMED);
    if more < 2 {
        return fill("product.names", &[("names", &written.join("; "))]);
    }
    fill("product.names_more", &[("names", &written[..NAMED].join("; ")), ("n", &more)])
}

/// What is known of a found name: where it stands, its share against the limit, what it is.
pub fn about(atlas: &Atlas, found: &Found, row: &Row) -> String {
    let ingredient = &atlas.ingredients[found.ingredient];
    let mut said = Vec::new();
    let share = found.share_ppm.map(percent).unwrap_or_default();
    match row.limit {
        Limit::None if found.share_ppm.is_some() => said.push(full_stop(&fill("product.share", &[("share", &share)]))),
        Limit::None => {}
        Limit::Not => said.push(text("product.not_face").to_owned()),
        Limit::TooStrong(most) => {
            said.push(fill("product.too_strong", &[("share", &share), ("most", &percent(most * 100))]));
        }
        Limit::Unwritten(most) => said.push(fill("product.unwritten", &[("most", &percent(most * 100))])),
        Limit::Within(most) => {
            said.push(fill("product.within", &[("share", &share), ("most", &percent(most * 100))]));
        }
    }
    said.push(full_stop(&ingredient.note));
    said.join(" ")
}

/// Where a found name stands, and how it is written there if that is not its name in the table.
pub fn place(atlas: &Atlas, found: &Found) -> String {
    let mut said = vec![fill("product.position", &[("n", &found.position)])];
    if found.written != atlas.ingredients[found.ingredient].name {
        said.push(fill("product.as_written", &[("written", &found.written)]));
    }
    if found.may {
        said.push(text("product.may").to_owned());
    }
    said.join(", ")
}

/// Millionths as per cent, without needless zeros: 5000 is `0.5`.
pub fn percent(ppm: u32) -> String {
    let digits = format!("{}.{:04}", ppm / 10_000, ppm % 10_000);
    digits.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The whole as plain text.
pub fn plain(atlas: &Atlas, product: &Product, judged: &Judged) -> String {
    let mut out = format!("{}\n\n{}\n{}\n", text("page.not_reviewed"), verdict(judged.class), counted(product));
    let reasons = judged.reasons();
    for class in [Class::LeaveOut, Class::AskFirst, Class::Gently] {
        let rows: Vec<&Row> = judged.rows.iter().filter(|r| r.class == class).collect();
        let because: Vec<&Reason> = reasons.iter().filter(|r| r.class == class).collect();
        if rows.is_empty() && because.is_empty() {
            continue;
        }
        let _ = writeln!(out, "\n{}", heading(class));
        for one in because {
            let _ = writeln!(out, "  - {}\n    {}", reason(atlas, one), names(product, one));
        }
        for row in rows {
            let found = &product.found[row.found];
            let ingredient = &atlas.ingredients[found.ingredient];
            let _ = writeln!(out, "  {} ({}): {}", ingredient.name, place(atlas, found), about(atlas, found, row));
            let _ = writeln!(out, "    {}", fill("product.source", &[("source", &ingredient.source)]));
        }
    }
    for (title, names) in [("product.unknown_title", &product.unknown), ("product.remarks", &product.remarks)] {
        if !names.is_empty() {
            let _ = writeln!(out, "\n{}\n  {}", text(title), names.join("; "));
        }
    }
    let _ = writeln!(out, "\n{}", text("product.limits"));
    out
}

#[cfg(test)]
mod tests {
    use super::percent;

    #[test]
    fn shares_read_as_people_write_them() {
        let check = |ppm: u32, expected: &str| assert_eq!(percent(ppm), expected);
        check(5_000, "0.5");
        check(10_000, "1");
        check(100, "0.01");
        check(100_000, "10");
        check(1, "0.0001");
        check(0, "0");
    }
}
