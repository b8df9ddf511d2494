//! Rust source without comments, text literals and test modules: what a check for calls should look at.

/// Blanks comments and literals, and everything under `#[cfg(test)]`; lines keep their numbers.
pub fn shipped(source: &str) -> String {
    blank_tests(&blank_literals(source))
}

fn blank_literals(source: &str) -> String {
    let s: Vec<char> = source.chars().collect();
    let mut out = String::with_capacity(source.len());
    let mut i = 0;
    let blank = |out: &mut String, c: char| out.push(if c == '\n' { '\n' } else { ' ' });
    while i < s.len() {
        let next = s.get(i + 1).copied();
        if s[i] == '/' && next == Some('/') {
            while i < s.len() && s[i] != '\n' {
                out.push(' ');
                i += 1;
            }
        } else if s[i] == '/' && next == Some('*') {
            let mut depth = 0;
            while i < s.len() {
                let two = (s[i], s.get(i + 1).copied());
                let step = match two {
                    ('/', Some('*')) => {
                        depth += 1;
                        2
                    }
                    ('*', Some('/')) => {
                        depth -= 1;
                        2
                    }
                    _ => 1,
                };
                s[i..(i + step).min(s.len())].iter().for_each(|c| blank(&mut out, *c));
                i += step;
                if depth == 0 {
                    break;
                }
            }
        } else if let Some(end) = literal_end(&s, i) {
            s[i..end].iter().for_each(|c| blank(&mut out, *c));
            i = end;
        } else {
            out.push(s[i]);
            i += 1;
        }
    }
    out
}

/// Where the text or character literal that begins at `i` ends.
fn literal_end(s: &[char], i: usize) -> Option<usize> {
    let word_before = i > 0 && (s[i - 1].is_alphanumeric() || s[i - 1] == '_');
    match s[i] {
        'r' if !word_before => {
            let hashes = s[i + 1..].iter().take_while(|c| **c == '#').count();
            if s.get(i + 1 + hashes) != Some(&'"') {
                return None;
            }
            let mut j = i + 2 + hashes;
            while j < s.len() {
                if s[j] == '"' && s[j + 1..].iter().take(hashes).filter(|c| **c == '#').count() == hashes {
                    return Some(j + 1 + hashes);
                }
                j += 1;
            }
            Some(s.len())
        }
        '"' => {
            let mut j = i + 1;
            while j < s.len() && s[j] != '"' {
                j += if s[j] == '\\' { 2 } else { 1 };
            }
            Some((j + 1).min(s.len()))
        }
        // A character, not a lifetime.
        '\'' if s.get(i + 1) == Some(&'\\') => {
            let end = s.iter().skip(i + 3).position(|c| *c == '\'')?;
            Some(i + 3 + end + 1)
        }
        '\'' if s.get(i + 2) == Some(&'\'') => Some(i + 3),
        _ => None,
    }
}

fn blank_tests(source: &str) -> String {
    const MARK: &str = "#[cfg(test)]";
    let mut out = String::with_capacity(source.len());
    let mut rest = source;
    while let Some(at) = rest.find(MARK) {
        out.push_str(&rest[..at]);
        let tail = &rest[at..];
        let mut depth = 0;
        let mut end = tail.len();
        for (j, c) in tail.char_indices() {
            match c {
                '{' => depth += 1,
                '}' => depth -= 1,
                _ => {}
            }
            if depth == 0 && matches!(c, '}' | ';') {
                end = j + c.len_utf8();
                break;
            }
        }
        out.extend(tail[..end].chars().filter(|c| *c == '\n'));
        rest = &tail[end..];
    }
    out.push_str(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_shipped_is_blank() {
        let source = "let a = \"call()\"; // call()\n/* call()\n /* x */ call() */ let b = 'c';\n\
                      #[cfg(test)]\nmod tests { fn f() { call(); } }\nlet r = r#\"call() \" x\"#; fn g<'a>() {}\n";
        let out = shipped(source);
        assert!(!out.contains("call"), "{out}");
        for kept in ["let a =", "let b =", "let r =", "fn g<'a>() {}"] {
            assert!(out.contains(kept), "{kept} in {out}");
        }
        assert_eq!(out.lines().count(), source.lines().count());
        assert!(shipped("let q = '\"'; call();").contains("call();"));
        assert!(shipped("let q = '\\''; call();").contains("call();"));
    }
}
