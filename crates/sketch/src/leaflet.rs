//! A picture for each step of a leaflet, beside its words: the figures stand in the page once, and every picture uses them.

use std::fmt::Write;

use face::Drawing;

use crate::ground::Part;
use crate::layout::place;
use crate::sheet::{Window, cut, ink};
use crate::stage::{single, window};
use crate::svg::{escape, num};
use crate::{MarkedStep, Options, Person, figure};

/// The pictures of a leaflet.
#[derive(Clone, Debug)]
pub struct Leaflet {
    /// The figures, in a picture without size; it must stand in the page before the others.
    pub figures: String,
    /// A picture for each group of steps, without words of its own: what it shows is to be said beside it.
    pub views: Vec<String>,
}

/// A picture for each group of steps that are shown together (left and right of the same).
pub fn leaflet_for(
    drawing: &Drawing,
    person: &Person<'_>,
    groups: &[&[MarkedStep<'_>]],
    options: &Options<'_>,
) -> Leaflet {
    let id = escape(options.id);
    let part = options.ground.part(Part::Figure);
    let all: Vec<_> = groups.iter().flat_map(|g| place(drawing, person, g)).collect();
    let mut figures =
        "<svg class=\"sk sk-figures\" width=\"0\" height=\"0\" aria-hidden=\"true\" focusable=\"false\"><defs>"
            .to_owned();
    let _ = write!(figures, "<g id=\"{id}-front\"><g {part}>{}</g></g>", ink(&figure::front(person, cut(&all, true))));
    if all.iter().any(|p| !p.seen.view.front()) {
        let _ = write!(figures, "<g id=\"{id}-back\"><g {part}>{}</g></g>", ink(figure::back(cut(&all, false))));
    }
    figures.push_str("</defs></svg>");
    let views = groups.iter().map(|group| view(drawing, person, group, options, &id)).collect();
    Leaflet { figures, views }
}

fn view(drawing: &Drawing, person: &Person<'_>, group: &[MarkedStep<'_>], options: &Options<'_>, id: &str) -> String {
    let placed = place(drawing, person, group);
    // What has no place, as the oil, has no picture.
    if placed.is_empty() {
        return String::new();
    }
    let behind = placed.iter().any(|p| !p.seen.view.front());
    let Window { left, bottom, right, top } = window(person, &placed);
    let box_of = window(person, &placed).view_box();
    let (wide, high) = (num((right - left) * 10.0), num((top - bottom) * 10.0));
    let frame = if behind { "back" } else { "front" };
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"sk sk-view\" viewBox=\"{box_of}\" width=\"{wide}\" height=\"{high}\" \
         aria-hidden=\"true\" focusable=\"false\"><use href=\"#{id}-{frame}\"/><g {}>",
        options.ground.part(Part::Marks)
    );
    for step in group {
        out.push_str(&single(drawing, person, step, options, ""));
    }
    out.push_str("</g></svg>");
    out
}

#[cfg(test)]
mod tests {
    use vocab::{Class, Movement, Pressure, Side};

    use super::*;
    use crate::{Ground, Mark, Words};

    #[test]
    fn the_figure_stands_there_once_and_every_step_is_marked() {
        let step = |number, target, side| MarkedStep {
            number,
            target,
            side,
            mark: Mark::Hold,
            pressure: Pressure::Light,
            seconds: 10,
            full_s: 20,
            movement: Movement::Work,
            class: Class::Go,
            title: "",
        };
        let (pair, nape) = ([step(1, "ST6", Side::Left), step(2, "ST6", Side::Right)], [step(3, "GB20", Side::Left)]);
        let words = Words { title: "", desc: "", your_left: "", your_right: "", from_behind: "" };
        let options = Options { ground: Ground::Page, id: "leaf", words, numerals: false };
        let drawing = Drawing::built_in();
        let made = leaflet_for(&drawing, &Person::drawn(), &[&pair, &nape], &options);
        assert_eq!(made.views.len(), 2);
        let count = |text: &str, what: &str| text.matches(what).count();
        assert_eq!((count(&made.figures, "id=\"leaf-front\""), count(&made.figures, "id=\"leaf-back\"")), (1, 1));
        assert_eq!(count(&made.views[0], "class=\"sk-step\""), 2);
        assert!(made.views[0].contains("href=\"#leaf-front\"") && made.views[1].contains("href=\"#leaf-back\""));
        // A view is small because it draws no figure.
        assert!(made.views.iter().all(|v| v.len() < made.figures.len() / 2), "{}", made.views[0].len());
    }
}
