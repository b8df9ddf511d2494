//! The shipped files with pieces broken at random: refused with file and reason, or sound; never a panic.

use plan::atlas::Atlas;
use vocab::Finding;

/// The shipped files with one of them changed.
fn with(file: usize, text: &str) -> Result<Atlas, Vec<Finding>> {
    let mut files = Atlas::built_in_files().to_vec();
    files[file].1 = text;
    Atlas::load(&files)
}

/// A small deterministic generator (Knuth's MMIX constants), so that a failure can be repeated.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % n
    }
}

/// Every seventh source of the shipped rows: without it the file is refused, at a line of that file.
#[test]
fn no_row_stands_without_its_source() {
    let mut tried = 0;
    for (at, (name, text)) in Atlas::built_in_files().iter().enumerate() {
        let lines: Vec<&str> = text.lines().collect();
        let sources = lines.iter().enumerate().filter(|(_, l)| l.starts_with("source = ")).map(|(n, _)| n);
        for source in sources.step_by(7) {
            let mut rest = lines.clone();
            rest.remove(source);
            let findings = with(at, &rest.join("\n")).expect_err("a row has no source");
            let told =
                findings.iter().any(|f| f.file == *name && f.line > 0 && f.message.contains("`source` is missing"));
            assert!(told, "{name}:{}: {:?}", source + 1, findings.first());
            tried += 1;
        }
    }
    assert!(tried > 60, "{tried}");
}

#[test]
fn random_damage_is_refused_with_reasons_or_harmless() {
    let junk =
        ["\"\"", "-1", "[]", "{}", "= =", "\"\u{fffd}\u{1f9ff}\"", "[[[", "99999999999999999999", "true", "1979-05-27"];
    let mut dice = Dice(20_261_125);
    let (mut refused, mut sound) = (0, 0);
    for round in 0..300 {
        let at = dice.below(Atlas::built_in_files().len());
        let (name, text) = Atlas::built_in_files()[at];
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        for _ in 0..=dice.below(3) {
            let line = dice.below(lines.len());
            match dice.below(4) {
                0 => drop(lines.remove(line)),
                1 => lines.insert(line, lines[dice.below(lines.len())].clone()),
                2 => {
                    let key = lines[line].split('=').next().unwrap_or_default().to_owned();
                    lines[line] = format!("{key}= {}", junk[dice.below(junk.len())]);
                }
                _ => {
                    let cut = lines[line].chars().count() / 2;
                    lines[line] = lines[line].chars().take(cut).collect();
                }
            }
        }
        match with(at, &lines.join("\n")) {
            Ok(_) => sound += 1,
            Err(findings) => {
                refused += 1;
                assert!(!findings.is_empty(), "round {round}");
                for finding in findings {
                    let known = Atlas::built_in_files().iter().any(|(n, _)| *n == finding.file);
                    assert!(known && finding.message.len() > 10, "round {round}, {name}: {finding}");
                }
            }
        }
    }
    assert!(refused > 200 && sound > 0, "{refused} refused, {sound} sound");
}
