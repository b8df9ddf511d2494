//! How a face is looked at, as its address says: photograph or drawing, which places, which one is chosen, which routine.

use vocab::Side;

use crate::own::desk::Kinds;

/// How a face is looked at.
#[derive(Clone)]
pub struct Looking {
    /// The drawing rather than the photograph.
    pub drawing: bool,
    /// The sorts of places shown.
    pub kinds: Kinds,
    /// The chosen place.
    pub chosen: Option<(String, Side)>,
    /// Whether handles are there to be dragged.
    pub correct: bool,
    /// The routine upon it.
    pub routine: Option<u64>,
    /// Printed to fit the page rather than at true scale.
    pub fit: bool,
}

impl Looking {
    /// Reads an address' query; what it does not know it passes over.
    pub fn read(query: &str) -> Looking {
        let none = Kinds { points: false, zones: false, lines: false };
        let (mut kinds, mut said) = (none, false);
        let (mut point, mut side) = (None, Side::Midline);
        let mut looking =
            Looking { drawing: false, kinds: none, chosen: None, correct: false, routine: None, fit: false };
        for (name, value) in form_urlencoded::parse(query.as_bytes()) {
            match (&*name, &*value) {
                ("view", value) => looking.drawing = value == "drawing",
                ("kinds", _) => said = true,
                ("kind", "points") => kinds.points = true,
                ("kind", "zones") => kinds.zones = true,
                ("kind", "lines") => kinds.lines = true,
                ("point", value) if !value.is_empty() => point = Some(value.to_owned()),
                ("side", value) => side = Side::from_word(value).unwrap_or(side),
                ("correct", value) => looking.correct = value == "1",
                ("routine", value) => looking.routine = value.parse().ok(),
                ("scale", value) => looking.fit = value == "fit",
                _ => {}
            }
        }
        looking.kinds = if said { kinds } else { Kinds { points: true, ..none } };
        looking.chosen = point.map(|p| (p, side));
        looking
    }

    /// As a query, with its question mark; empty where everything is usual.
    pub fn query(&self) -> String {
        let mut query = form_urlencoded::Serializer::new(String::new());
        for (name, value) in self.pairs() {
            query.append_pair(name, &value);
        }
        let query = query.finish();
        if query.is_empty() { query } else { format!("?{query}") }
    }

    /// The names and values of the query.
    fn pairs(&self) -> Vec<(&'static str, String)> {
        let mut pairs = self.other_pairs();
        if self.drawing {
            pairs.push(("view", "drawing".to_owned()));
        }
        if let Some((point, side)) = &self.chosen {
            pairs.extend([("point", point.clone()), ("side", side.word().to_owned())]);
        }
        let Kinds { points, zones, lines } = self.kinds;
        if !points || zones || lines {
            pairs.push(("kinds", "1".to_owned()));
            let each = [("points", points), ("zones", zones), ("lines", lines)];
            pairs.extend(each.iter().filter(|k| k.1).map(|k| ("kind", k.0.to_owned())));
        }
        pairs
    }

    fn other_pairs(&self) -> Vec<(&'static str, String)> {
        let mut pairs = Vec::new();
        if self.correct {
            pairs.push(("correct", "1".to_owned()));
        }
        if let Some(routine) = self.routine {
            pairs.push(("routine", routine.to_string()));
        }
        if self.fit {
            pairs.push(("scale", "fit".to_owned()));
        }
        pairs
    }

    /// What a form that asks for the sorts of places has to carry along.
    pub fn hidden(&self) -> Vec<(&'static str, String)> {
        let bare = Kinds { points: true, zones: false, lines: false };
        Looking { kinds: bare, ..self.clone() }.pairs()
    }

    /// The same with another place chosen.
    pub fn with(&self, point: &str, side: Side) -> Looking {
        Looking { chosen: Some((point.to_owned(), side)), ..self.clone() }
    }

    /// Whether this place is the chosen one.
    pub fn is(&self, point: &str, side: Side) -> bool {
        self.chosen.as_ref().is_some_and(|(p, s)| p == point && *s == side)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_says_it_and_is_written_the_same() {
        let check = |query: &str, expected: &str| assert_eq!(Looking::read(query).query(), expected, "{query}");
        check("", "");
        check("view=photo&nonsense=1", "");
        check("view=drawing", "?view=drawing");
        check("point=LI20&side=left", "?point=LI20&side=left");
        check("kinds=1&kind=zones&kind=lines", "?kinds=1&kind=zones&kind=lines");
        check("kinds=1&kind=points", "");
        check("correct=1&routine=3&routine=x", "?correct=1");
        check("point=%22%3E&side=up", "?point=%22%3E&side=midline");
        check("scale=fit", "?scale=fit");
    }
}
