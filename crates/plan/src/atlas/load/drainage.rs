//! The anatomical graph, which place of the hand each of its names belongs to, and the check of the main tree.

use std::collections::BTreeSet;

use vocab::read::{Table, Word};

use super::rows::{Row, look_up, merged_by};
use crate::atlas::{Atlas, DrainageEdge, NodeZone, ZoneIx};

/// A zone whose source says this need not be borne out by the graph.
const COMMON_PRACTICE: &str = "common practice";

/// Edges, told apart by their two ends, and the places of their names.
pub(super) fn read(roots: &[Table], atlas: &mut Atlas) {
    let pair = |table: &Table, a: &str, b: &str| {
        let (a, b) = (table.need_text(a), table.need_text(b));
        let whole = !a.text.is_empty() && !b.text.is_empty();
        whole.then(|| Word { text: format!("{} to {}", a.text, b.text), line: a.line })
    };
    for row in merged_by(roots, "edge", |table| pair(table, "from", "to")) {
        let t = &row.table;
        atlas.drainage.push(DrainageEdge {
            from: t.need_text("from").text,
            to: t.need_text("to").text,
            kind: t.need_text("kind").text,
            source: t.need_text("source").text,
        });
        row.table.finish();
    }
    let mut nodes: Vec<&str> = atlas.drainage.iter().flat_map(|edge| [edge.from.as_str(), edge.to.as_str()]).collect();
    nodes.sort_unstable();
    nodes.dedup();
    let mut node_zones = Vec::new();
    for row in merged_by(roots, "node_zone", |table| pair(table, "node", "zone")) {
        let t = &row.table;
        let node = t.need_text("node");
        look_up(t, "node", &node, nodes.iter().copied());
        let zone = look_up(t, "zone", &t.need_text("zone"), atlas.zones.iter().map(|zone| zone.id.as_str()));
        let source = t.need_text("source").text;
        if let Some(zone) = zone {
            node_zones.push(NodeZone { node: node.text, zone: ZoneIx(zone), source });
        }
        row.table.finish();
    }
    atlas.node_zones = node_zones;
}

/// For every zone with a next one, some name of the zone must reach some name of the next in the graph, unless the
/// zone's row says that its way is common practice.
pub(super) fn check_main_tree(rows: &[Row], atlas: &Atlas) {
    let names = |zone: ZoneIx| atlas.node_zones.iter().filter(move |n| n.zone == zone).map(|n| n.node.as_str());
    for (zone, row) in atlas.zones.iter().zip(rows) {
        let Some(next) = zone.next_main else { continue };
        // That a source is missing is noted already.
        if zone.source.contains(COMMON_PRACTICE) || zone.source.trim().is_empty() {
            continue;
        }
        let Some(from) = atlas.zone_named(&zone.id) else { continue };
        let reached = reachable(names(from), atlas);
        if !names(next).any(|name| reached.contains(name)) {
            let next = &atlas.zone(next).id;
            let message = format!(
                "zone `{}`: the drainage graph shows no way from it to `{next}`; correct `next`, add edges and \
                 node_zone rows, or say \"common practice\" in its source",
                zone.id
            );
            row.table.document().note(row.table.line_of("next"), message);
        }
    }
}

/// Every name that can be reached over at least one edge.
fn reachable<'a>(from: impl Iterator<Item = &'a str>, atlas: &'a Atlas) -> BTreeSet<&'a str> {
    let mut front: Vec<&str> = from.collect();
    let mut reached = BTreeSet::new();
    while let Some(here) = front.pop() {
        for edge in atlas.drainage.iter().filter(|edge| edge.from == here) {
            if reached.insert(edge.to.as_str()) {
                front.push(&edge.to);
            }
        }
    }
    reached
}
