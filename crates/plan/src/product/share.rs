//! The share that may be written beside a name: `0.5 %`, `<0,1%`, `1-2 %`, `2 percent`.

/// Words for the sign.
const WORDS: [&str; 4] = ["percent", "per cent", "prozent", "pour cent"];

/// The text without its shares, and the largest of them in millionths, rounded up; beyond 100 % it is 100 %.
pub fn taken(text: &str) -> (String, Option<u32>) {
    let chars: Vec<char> = text.chars().collect();
    let mut rest = String::new();
    let mut share: Option<u32> = None;
    let mut at = 0;
    while at < chars.len() {
        let starts = chars[at].is_ascii_digit() && (at == 0 || !chars[at - 1].is_alphanumeric());
        match starts.then(|| number(&chars, at)).flatten().and_then(|(n, end)| beside(&chars, n, end)) {
            Some((ppm, end)) => {
                let kept = rest.trim_end_matches(['<', '>', '≤', '≥', '~', '=', ' ', '.', ',']).len();
                // "More than" has no end: it counts as a little more.
                let more = rest[kept..].contains(['>', '≥']) as u32;
                rest.truncate(kept);
                rest.push(' ');
                share = share.max(Some(ppm.saturating_add(more).min(1_000_000)));
                at = end;
            }
            None => {
                rest.push(chars[at]);
                at += 1;
            }
        }
    }
    (rest, share)
}

/// The end of a span and the sign, if they follow a number.
fn beside(chars: &[char], first: u32, end: usize) -> Option<(u32, usize)> {
    let mut at = blanks(chars, end);
    let mut largest = first;
    if chars.get(at).is_some_and(|c| matches!(c, '-' | '–' | '—')) {
        let (second, end) = number(chars, blanks(chars, at + 1))?;
        largest = largest.max(second);
        at = blanks(chars, end);
    }
    if chars.get(at).is_some_and(|c| matches!(c, '%' | '％' | '٪')) {
        return Some((largest, at + 1));
    }
    let tail: String = chars[at..].iter().take(10).flat_map(|c| c.to_lowercase()).collect();
    WORDS.iter().find(|w| tail.starts_with(**w)).map(|w| (largest, at + w.chars().count()))
}

fn blanks(chars: &[char], from: usize) -> usize {
    from + chars.iter().skip(from).take_while(|c| c.is_whitespace()).count()
}

/// A number of per cent as millionths, and where it ends.
fn number(chars: &[char], from: usize) -> Option<(u32, usize)> {
    let digits = |from: usize| chars.iter().skip(from).take_while(|c| c.is_ascii_digit()).count();
    let whole = digits(from);
    if whole == 0 {
        return None;
    }
    let value = |from: usize, n: usize| chars[from..from + n].iter().collect::<String>().parse::<u32>().ok();
    // What has more digits than fit is far beyond all there is.
    let mut ppm = value(from, whole).map_or(1_000_000, |n| n.saturating_mul(10_000)).min(1_000_000);
    let mut end = from + whole;
    if chars.get(end).is_some_and(|c| matches!(c, '.' | ',')) && digits(end + 1) > 0 {
        let n = digits(end + 1);
        let kept = n.min(4);
        let part = value(end + 1, kept)? * 10_u32.pow(4 - kept as u32);
        let beyond = chars[end + 1 + kept..end + 1 + n].iter().any(|c| *c != '0');
        ppm = ppm.saturating_add(part + u32::from(beyond));
        end += 1 + n;
    }
    Some((ppm, end))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_read_as_people_write_them() {
        let check = |text: &str, rest: &str, ppm: Option<u32>| {
            let (left, share) = taken(text);
            assert_eq!((left.trim(), share), (rest, ppm), "{text}");
        };
        check("Tea Tree Oil 2 %", "Tea Tree Oil", Some(20_000));
        check("0,5% Limonene", "Limonene", Some(5_000));
        check("Linalool <0.01%", "Linalool", Some(100));
        check("Linalool >1 %", "Linalool", Some(10_001));
        check("Menthol 0.5 - 1 %", "Menthol", Some(10_000));
        check("Menthol 1.00001 %", "Menthol", Some(10_001));
        check("Menthol 2 percent", "Menthol", Some(20_000));
        check("1,2-Hexanediol", "1,2-Hexanediol", None);
        check("CI 77891", "CI 77891", None);
        check("Polysorbate 20", "Polysorbate 20", None);
        check("99999999999999 %", "", Some(1_000_000));
    }
}
