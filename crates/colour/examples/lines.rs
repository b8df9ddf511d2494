//! Answers lines of standard input, one each, so that another program can check many colours at once:
//! `srgb|display_p3|adobe_rgb|icc R G B` (linear, then XYZ), `linear X Y Z`, `lab X Y Z`, `xyz L a b`, `of_d50 L a b`,
//! `adapt X Y Z` (D50 to D65), `ita L a b`, `ciede2000 L a b L a b`, `skin MELANIN BLOOD`; `profile HEX` sets what `icc` means.
//! An answer is numbers, or `none`, or `error` and why.

// An example is an edge: it may read and print.
#![allow(clippy::disallowed_methods, clippy::disallowed_types, clippy::disallowed_macros)]

use std::io::{BufRead, Write};

use colour::{Lab, Linear, Space, Xyz, ciede2000, ita, skin_model_lab};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut icc = None;
    let spaces = [("srgb", Space::srgb()), ("display_p3", Space::display_p3()), ("adobe_rgb", Space::adobe_rgb())];
    for line in std::io::stdin().lock().lines() {
        let line = line?;
        let (op, rest) = line.split_once(' ').unwrap_or((&line, ""));
        if op == "profile" {
            match Space::of_icc(&bytes(rest)?) {
                Ok(space) => {
                    writeln!(out, "{}; {}", space.name(), space.note().unwrap_or("no note"))?;
                    icc = Some(space);
                }
                Err(error) => {
                    writeln!(out, "error {error}")?;
                    icc = None;
                }
            }
            continue;
        }
        let v: Vec<f64> = rest.split(' ').map(str::parse).collect::<Result<_, _>>()?;
        let space = if op == "icc" { icc.as_ref() } else { spaces.iter().find(|s| s.0 == op).map(|s| &s.1) };
        let answer = match (op, &v[..]) {
            (_, &[r, g, b]) if space.is_some() => {
                let light = space.ok_or("no space")?.linear([r, g, b]);
                [light.0, light.xyz().0].concat()
            }
            ("linear", &[x, y, z]) => Linear::of_xyz(Xyz([x, y, z])).0.to_vec(),
            ("lab", &[x, y, z]) => flat(Xyz([x, y, z]).lab()),
            ("xyz", &[l, a, b]) => Lab { l, a, b }.xyz().0.to_vec(),
            ("of_d50", &[l, a, b]) => flat(Lab::of_d50([l, a, b])),
            ("adapt", &[x, y, z]) => Xyz([x, y, z]).adapted(Xyz::WHITE_D50, Xyz::WHITE_D65).0.to_vec(),
            ("ita", &[l, a, b]) => ita(Lab { l, a, b }).into_iter().collect(),
            ("ciede2000", &[l, a, b, l2, a2, b2]) => vec![ciede2000(Lab { l, a, b }, Lab { l: l2, a: a2, b: b2 })],
            ("skin", &[melanin, blood]) => flat(skin_model_lab(melanin, blood)),
            _ => return Err(format!("cannot answer {line:?}").into()),
        };
        let answer: Vec<String> = answer.iter().map(f64::to_string).collect();
        writeln!(out, "{}", if answer.is_empty() { "none".to_string() } else { answer.join(" ") })?;
    }
    Ok(())
}

fn flat(lab: Lab) -> Vec<f64> {
    vec![lab.l, lab.a, lab.b]
}

fn bytes(hex: &str) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
    (0..hex.len() / 2).map(|i| Ok(u8::from_str_radix(&hex[2 * i..2 * i + 2], 16)?)).collect()
}
