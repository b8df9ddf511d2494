//! Individual typology angle and the classes of skin tone it names.

use crate::lab::Lab;

/// Below this b* the angle is not reported: it turns over where b* passes 0 (glare, blue light), and at b* 3 an error of
/// one unit of b* already moves it by up to 18 degrees. Published means of skin have b* of 13 to 19
/// (data/colour/skin_lab.csv). Our own choice.
pub const ITA_LEAST_B: f64 = 3.0;

/// Individual typology angle, degrees: atan((L* - 50) / b*) (Chardon, Cretois and Hourseau 1991). None where b* is below
/// [`ITA_LEAST_B`], L* lies outside 0 to 100, or a value is no number. It orders skin by lightness against yellowness; it
/// says nothing about a person.
pub fn ita(lab: Lab) -> Option<f64> {
    let meaningful = lab.b >= ITA_LEAST_B && lab.b.is_finite() && (0.0..=100.0).contains(&lab.l);
    meaningful.then(|| ((lab.l - 50.0) / lab.b).atan().to_degrees())
}

/// Classes of skin tone by individual typology angle (Chardon 1991; Del Bino and Bernerd 2013, doi:10.1111/bjd.12529).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Tone {
    /// Above 55 degrees.
    VeryLight,
    /// Above 41, at most 55.
    Light,
    /// Above 28, at most 41.
    Intermediate,
    /// Above 10, at most 28.
    Tan,
    /// Above -30, at most 10.
    Brown,
    /// At most -30.
    Dark,
}

impl Tone {
    /// All of them, from light to dark.
    pub const ALL: [Tone; 6] = [Tone::VeryLight, Tone::Light, Tone::Intermediate, Tone::Tan, Tone::Brown, Tone::Dark];

    /// The class of an angle in degrees.
    pub fn of_ita(degrees: f64) -> Tone {
        match degrees {
            d if d > 55.0 => Tone::VeryLight,
            d if d > 41.0 => Tone::Light,
            d if d > 28.0 => Tone::Intermediate,
            d if d > 10.0 => Tone::Tan,
            d if d > -30.0 => Tone::Brown,
            _ => Tone::Dark,
        }
    }

    /// Its name in files and answers.
    pub fn name(self) -> &'static str {
        match self {
            Tone::VeryLight => "very_light",
            Tone::Light => "light",
            Tone::Intermediate => "intermediate",
            Tone::Tan => "tan",
            Tone::Brown => "brown",
            Tone::Dark => "dark",
        }
    }

    /// The class of a name as [`Tone::name`] gives it.
    pub fn parse(name: &str) -> Option<Tone> {
        Tone::ALL.into_iter().find(|tone| tone.name() == name)
    }

    /// A nominal cheek of the class, on which relative mode draws the ratio of band and cheek.
    ///
    /// The colour at ITA 58, 48, 34.5, 19, -10 and -45 degrees on the curve a* = 12.70 - 0.0834 x - 0.00735 x^2,
    /// b* = 18.82 - 0.0523 x - 0.0322 x^2 with x = L* - 50: least squares through the published means of cheek, forehead and
    /// outer forearm in data/colour/skin_lab.csv (scatter 0.3 in a*, 1.1 in b*). The angles are the classes' middles, our own
    /// choice in the two open classes. The lightest and darkest lie a little beyond the data (L* 38 to 61): the curve
    /// continued.
    pub fn nominal_cheek(self) -> Lab {
        let [l, a, b] = match self {
            Tone::VeryLight => [65.8, 9.5, 9.9],
            Tone::Light => [63.5, 10.2, 12.2],
            Tone::Intermediate => [60.2, 11.1, 14.9],
            Tone::Tan => [56.0, 11.9, 17.4],
            Tone::Brown => [46.7, 12.9, 18.6],
            Tone::Dark => [36.4, 12.5, 13.6],
        };
        Lab { l, a, b }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_of_the_classes() {
        for (degrees, tone) in [
            (55.001, Tone::VeryLight),
            (55.0, Tone::Light),
            (41.001, Tone::Light),
            (41.0, Tone::Intermediate),
            (28.001, Tone::Intermediate),
            (28.0, Tone::Tan),
            (10.001, Tone::Tan),
            (10.0, Tone::Brown),
            (-29.999, Tone::Brown),
            (-30.0, Tone::Dark),
            (-90.0, Tone::Dark),
        ] {
            assert_eq!(Tone::of_ita(degrees), tone, "{degrees}");
        }
    }

    #[test]
    fn the_angle_of_published_means() {
        // data/colour/skin_lab.csv states the angle of each mean, computed outside this crate.
        let table = include_str!("../../../data/colour/skin_lab.csv");
        let rows: Vec<Vec<&str>> =
            table.lines().filter(|l| !l.starts_with(['#', 's'])).map(|l| l.split(',').collect()).collect();
        assert_eq!(rows.len(), 30);
        for row in rows {
            let [l, a, b, expected] = [2, 3, 4, 6].map(|i: usize| row[i].parse::<f64>().unwrap());
            let found = ita(Lab { l, a, b }).unwrap();
            assert!((found - expected).abs() <= 0.0501, "{}: {found} against {expected}", row[1]);
        }
    }

    #[test]
    fn no_angle_where_it_means_nothing() {
        for (l, b) in [(60.0, 2.99), (60.0, -5.0), (60.0, f64::NAN), (100.1, 10.0), (-0.1, 10.0), (f64::NAN, 10.0)] {
            assert_eq!(ita(Lab { l, a: 10.0, b }), None, "{l} {b}");
        }
        assert_eq!(ita(Lab { l: 50.0, a: 0.0, b: 3.0 }), Some(0.0));
    }

    #[test]
    fn nominal_cheeks_lie_in_their_class() {
        for tone in Tone::ALL {
            assert_eq!(ita(tone.nominal_cheek()).map(Tone::of_ita), Some(tone), "{}", tone.name());
            assert_eq!(Tone::parse(tone.name()), Some(tone));
        }
        assert_eq!(Tone::parse("Dark"), None);
    }
}
