//! How coarsely a JPEG keeps colour: the steps of its quantisation tables (ITU-T T.81, B.2.2, B.2.4.1 and A.3.4).

/// The step in which a JPEG keeps the mean chroma of a block, in levels of 255: the coarser of Cb and Cr. None where the file has
/// no chroma (grey, or red, green and blue as they are) or is not whole enough to tell.
///
/// The first coefficient of a block of 8 by 8 is eight times its mean (A.3.3), so that its step is an eighth of the table's.
pub(crate) fn chroma_step(bytes: &[u8]) -> Option<f64> {
    let mut first = [None; 4];
    let mut used = None;
    let mut at = 2;
    loop {
        // Up to the first scan segments follow each other; fill bytes may stand between them.
        let marker = match *bytes.get(at..at + 2)? {
            [0xff, 0xff] => {
                at += 1;
                continue;
            }
            [0xff, marker] => marker,
            _ => return None,
        };
        let length = usize::from(u16::from_be_bytes(*bytes.get(at + 2..)?.first_chunk::<2>()?));
        let body = bytes.get(at + 4..at + 2 + length)?;
        at += 2 + length;
        match marker {
            0xdb => tables(body, &mut first)?,
            0xc0..=0xcf if !matches!(marker, 0xc4 | 0xc8 | 0xcc) => {
                // Precision, size, how many components, then three bytes each: a name, its sampling, its table.
                let &[3, y, _, _, _, _, cb, _, _, cr] = body.get(5..15)? else { return None };
                if y == b'R' {
                    return None;
                }
                used = Some([cb, cr]);
            }
            // Adobe's marker: a transform of nought means red, green and blue as they are.
            0xee if body.starts_with(b"Adobe") && body.get(11) == Some(&0) => return None,
            0xda => break,
            _ => {}
        }
    }
    let steps = used?.map(|table| first.get(usize::from(table)).copied().flatten());
    Some(f64::from(steps[0]?.max(steps[1]?)) / 8.0)
}

/// The first entry of each table of a segment; a table is 64 entries of one byte or two.
fn tables(mut body: &[u8], first: &mut [Option<u16>; 4]) -> Option<()> {
    while let [head, rest @ ..] = body {
        let wide = usize::from(head >> 4) + 1;
        let entry = match (wide, rest) {
            (1, [low, ..]) => u16::from(*low),
            (2, [high, low, ..]) => u16::from_be_bytes([*high, *low]),
            _ => return None,
        };
        *first.get_mut(usize::from(head & 15))? = Some(entry);
        body = rest.get(64 * wide..)?;
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::chroma_step;

    /// A head of a JPEG: tables whose entries all are `luma` and `chroma`, a frame of the components, a scan.
    fn head(luma: u8, chroma: u16, components: &[[u8; 3]], before: &[u8]) -> Vec<u8> {
        let mut out = vec![0xff, 0xd8];
        out.extend(before);
        out.extend([0xff, 0xdb, 0, 67, 0]);
        out.extend([luma; 64]);
        out.extend([0xff, 0xff, 0xdb, 0, 131, 0x11]);
        out.extend([chroma.to_be_bytes(); 64].concat());
        out.extend([0xff, 0xc0, 0, 8 + 3 * components.len() as u8, 8, 0, 8, 0, 8, components.len() as u8]);
        out.extend(components.concat());
        out.extend([0xff, 0xda, 0, 2]);
        out
    }

    const COLOUR: [[u8; 3]; 3] = [[1, 0x22, 0], [2, 0x11, 1], [3, 0x11, 1]];

    #[test]
    fn the_step_of_chroma_is_an_eighth_of_its_tables_first_entry() {
        assert_eq!(chroma_step(&head(3, 10, &COLOUR, &[])), Some(1.25));
        assert_eq!(chroma_step(&head(3, 300, &COLOUR, &[])), Some(37.5));
        // Both chroma channels may name a table of their own; the coarser counts.
        let own = [[1, 0x22, 0], [2, 0x11, 1], [3, 0x11, 0]];
        assert_eq!(chroma_step(&head(80, 10, &own, &[])), Some(10.0));
    }

    #[test]
    fn grey_true_colour_and_what_is_cut_short_have_none() {
        assert_eq!(chroma_step(&head(3, 10, &[[1, 0x11, 0]], &[])), None);
        let adobe = [&[0xff, 0xee, 0, 14][..], b"Adobe", &[0, 100, 0, 0, 0, 0, 0]].concat();
        assert_eq!(chroma_step(&head(3, 10, &COLOUR, &adobe)), None);
        assert_eq!(chroma_step(&head(3, 10, &[[b'R', 0x11, 1], [b'G', 0x11, 1], [b'B', 0x11, 1]], &[])), None);
        let whole = head(3, 10, &COLOUR, &[]);
        for cut in 0..whole.len() - 2 {
            assert_eq!(chroma_step(&whole[..cut]), None, "{cut}");
        }
    }
}
