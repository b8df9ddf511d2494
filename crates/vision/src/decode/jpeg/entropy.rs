//! Whether a JPEG's coded data is whole: every scan holds exactly the blocks its frame asks for. The pixels' decoder
//! fills gaps with grey and says nothing, and Huffman codes fall back into step after a damaged stretch; but hardly ever
//! with the same number of blocks, and with values that a picture can have. So the codes are walked here without
//! computing a pixel, beside the decoder. A changed bit inside a value is not noticed: it is a valid other picture.
//! Sections and figures: ITU-T T.81.
//!
//! Let pass: bytes 00 and FF between a scan's last block and its next marker, which some cameras leave to fill up a
//! buffer; everything after the end of the picture (the first picture's, where several are stitched together).

use super::{DecodeError, DecodeErrorKind};

/// Bits of a code that the first table resolves.
const LOOK: u32 = 10;
/// Largest coefficient: what samples from -128 to 127 can give (8 x 128), and a quarter more: some encoders overshoot a
/// little on purpose, so that white stays clean.
const MOST_VALUE: i32 = 1024 * 5 / 4;
/// Most components of a frame; more the decoder refuses.
const MOST_PARTS: usize = 4;
/// No bit of a coefficient was coded yet.
const UNCODED: u8 = 0xff;
/// Most scans: a few bytes can ask for a walk over all blocks. Encoders write 10 or so; each coefficient bit of three
/// components alone would make 3 x 64 x 2.
const MOST_SCANS: usize = 384;

/// Walks all coded data of a JPEG whose segments are known to be in order.
pub(super) fn check(bytes: &[u8]) -> Result<(), DecodeError> {
    let mut state = State::default();
    let mut at = 2;
    while let Some(&byte) = bytes.get(at) {
        at += 1;
        let Some(&marker) = bytes.get(at).filter(|m| byte == 0xff && !matches!(m, 0 | 0xff)) else { continue };
        at += 1;
        match marker {
            0xd9 => return state.end(),
            0x01 | 0xd0..=0xd8 => continue,
            _ => {}
        }
        let length = bytes.get(at..).and_then(|b| b.first_chunk::<2>()).ok_or(DecodeErrorKind::Truncated)?;
        let length = usize::from(u16::from_be_bytes(*length)).max(2);
        let body = bytes.get(at + 2..at + length).ok_or(DecodeErrorKind::Truncated)?;
        at += length;
        match marker {
            0xc0..=0xc2 => state.frame(body, marker == 0xc2)?,
            // Lossless, hierarchical and arithmetic coding: not read here, and refused by the decoder.
            0xc3 | 0xc5..=0xc7 | 0xc9..=0xcb | 0xcd..=0xcf => return Ok(()),
            0xc4 => state.tables(body)?,
            0xdb => state.steps(body),
            0xdd => state.interval = body.first_chunk::<2>().map_or(0, |b| usize::from(u16::from_be_bytes(*b))),
            0xda => at += state.scan(body, &bytes[at..])?,
            _ => {}
        }
    }
    Err(DecodeErrorKind::Truncated.into())
}

fn broken(what: &str) -> DecodeError {
    DecodeError::broken(what)
}

#[derive(Default)]
struct State {
    progressive: bool,
    width: usize,
    height: usize,
    parts: Vec<Part>,
    /// First four: differences (DC), then four for coefficients (AC).
    codes: [Option<Box<Codes>>; 8],
    /// Quantisation steps by table, in zigzag order.
    steps: [Vec<u16>; 4],
    interval: usize,
    scans: usize,
}

/// One component of the frame.
struct Part {
    id: u8,
    h: usize,
    v: usize,
    /// Which quantisation table.
    steps: usize,
    /// By coefficient: its lowest bit that was coded so far.
    lowest: [u8; 64],
    /// Per block, which coefficients are known not to be zero (progressive only): bit k is coefficient k in zigzag order.
    known: Vec<u64>,
    stride: usize,
}

impl State {
    /// B.2.2.
    fn frame(&mut self, body: &[u8], progressive: bool) -> Result<(), DecodeError> {
        if !self.parts.is_empty() {
            return Err(broken("two frames in one JPEG"));
        }
        let [_, h1, h0, w1, w0, _, parts @ ..] = body else { return Err(broken("a short JPEG frame header")) };
        (self.height, self.width) = (u16::from_be_bytes([*h1, *h0]).into(), u16::from_be_bytes([*w1, *w0]).into());
        self.progressive = progressive;
        for &[id, factors, steps] in parts.as_chunks::<3>().0.iter().take(MOST_PARTS) {
            let (h, v) = (usize::from(factors >> 4), usize::from(factors & 15));
            if !(1..=4).contains(&h) || !(1..=4).contains(&v) {
                return Err(broken("sampling factors beyond 4"));
            }
            self.parts.push(Part {
                id,
                h,
                v,
                steps: usize::from(steps & 3),
                lowest: [UNCODED; 64],
                known: Vec::new(),
                stride: 0,
            });
        }
        let (across, down) = self.units();
        for part in &mut self.parts {
            part.stride = across * part.h;
            if progressive {
                part.known = vec![0; part.stride * down * part.v];
            }
        }
        Ok(())
    }

    /// The largest factors.
    fn most(&self) -> (usize, usize) {
        let most = |of: fn(&Part) -> usize| self.parts.iter().map(of).max().unwrap_or(1);
        (most(|p| p.h), most(|p| p.v))
    }

    /// Interleaved units (MCUs) across and down; A.2.
    fn units(&self) -> (usize, usize) {
        let (h, v) = self.most();
        (self.width.div_ceil(8 * h), self.height.div_ceil(8 * v))
    }

    /// B.2.4.1. A short table is left out: the decoder says what is wrong.
    fn steps(&mut self, mut body: &[u8]) {
        while let Some((&kind, rest)) = body.split_first() {
            let wide = kind >> 4 > 0;
            let Some((table, rest)) = rest.split_at_checked(if wide { 128 } else { 64 }) else { return };
            self.steps[usize::from(kind & 3)] = match wide {
                true => table.as_chunks::<2>().0.iter().map(|b| u16::from_be_bytes(*b)).collect(),
                false => table.iter().map(|&b| b.into()).collect(),
            };
            body = rest;
        }
    }

    /// How many bits a coefficient may have at most, at each place; those of the mean are counted by its value.
    fn most_bits(&self, part: &Part) -> [u8; 64] {
        let mut most = [15; 64];
        for (most, step) in most.iter_mut().zip(&self.steps[part.steps]) {
            // A value of n bits is 2^(n - 1) or more.
            *most = (1..=15)
                .take_while(|n| i32::from(*step) << (n - 1) <= MOST_VALUE + i32::from(*step))
                .last()
                .unwrap_or(0);
        }
        most
    }

    /// B.2.4.2.
    fn tables(&mut self, mut body: &[u8]) -> Result<(), DecodeError> {
        while let Some((&kind, rest)) = body.split_first() {
            let (counts, rest) = rest.split_first_chunk::<16>().ok_or_else(|| broken("a short code table"))?;
            let total = counts.iter().map(|&c| usize::from(c)).sum::<usize>();
            let (symbols, rest) = rest.split_at_checked(total).ok_or_else(|| broken("a short code table"))?;
            let slot = usize::from(kind >> 4) * 4 + usize::from(kind & 15);
            if kind >> 4 > 1 || kind & 15 > 3 {
                return Err(broken("a code table without a place"));
            }
            self.codes[slot] = Some(Box::new(Codes::new(counts, symbols)?));
            body = rest;
        }
        Ok(())
    }

    /// B.2.3. Walks one scan; answers how many bytes it has.
    fn scan(&mut self, head: &[u8], data: &[u8]) -> Result<usize, DecodeError> {
        let short = || broken("a short scan header");
        let (&count, rest) = head.split_first().ok_or_else(short)?;
        let (named, rest) = rest.split_at_checked(2 * usize::from(count)).ok_or_else(short)?;
        let &[first, last, bits, ..] = rest else { return Err(short()) };
        let (mut parts, mut codes) = (Vec::new(), Vec::new());
        for &[id, tables] in named.as_chunks::<2>().0 {
            let part = self.parts.iter().position(|p| p.id == id).ok_or_else(|| broken("a scan of nothing"))?;
            if parts.contains(&part) {
                return Err(broken("a component twice in one scan"));
            }
            parts.push(part);
            codes.push([usize::from(tables >> 4) & 3, 4 + (usize::from(tables) & 3)]);
        }
        let (first, last) = if self.progressive { (first, last) } else { (0, 63) };
        if first > last || last > 63 || parts.is_empty() || (first > 0 && parts.len() > 1) {
            return Err(broken("a scan of coefficients that are none"));
        }
        let step = match (self.progressive, first, bits >> 4) {
            (false, ..) => Step::Whole,
            (true, 0, 0) => Step::Dc,
            (true, 0, _) => Step::DcAgain,
            (true, _, 0) => Step::Ac(first, last),
            (true, ..) => Step::AcAgain(first, last),
        };
        self.scans += 1;
        if self.scans > MOST_SCANS {
            return Err(broken("hundreds of scans"));
        }
        let mut walker = Walker { bits: Bits::new(data), run: 0 };
        let mut restarts = 0u8;
        let (units, rows) = match parts.as_slice() {
            [one] => self.alone(*one),
            _ => self.units(),
        };
        let mut left = self.interval;
        let mut means: Vec<Mean> =
            parts.iter().map(|&p| Mean::new(&self.steps[self.parts[p].steps], bits & 15)).collect();
        let most: Vec<[u8; 64]> = parts.iter().map(|&p| self.most_bits(&self.parts[p])).collect();
        let State { parts: all, codes: tables, interval, .. } = self;
        for part in &parts {
            let low = if matches!(step, Step::Whole) { 0 } else { bits & 15 };
            all[*part].lowest[usize::from(first)..=usize::from(last)].fill(low);
        }
        let table = |slot: usize| tables[slot].as_deref().ok_or_else(|| broken("a scan without its code table"));
        // What the walk needs of each component: its part, its codes, and how many blocks of it a unit has.
        let mut plan = Vec::new();
        for (part, [dc, ac]) in parts.iter().zip(&codes) {
            let needs_dc = matches!(step, Step::Whole | Step::Dc);
            let needs_ac = matches!(step, Step::Whole | Step::Ac(..) | Step::AcAgain(..));
            let dc = if needs_dc { Some(table(*dc)?) } else { None };
            let ac = if needs_ac { Some(table(*ac)?) } else { None };
            let (h, v) = if parts.len() == 1 { (1, 1) } else { (all[*part].h, all[*part].v) };
            plan.push((*part, dc, ac, h * v));
        }
        for y in 0..rows {
            for x in 0..units {
                if *interval > 0 && left == 0 {
                    walker.restart(restarts)?;
                    restarts = (restarts + 1) & 7;
                    left = *interval;
                    means.iter_mut().for_each(|m| m.value = 0);
                }
                left = left.wrapping_sub(1);
                for (((part, dc, ac, blocks), mean), most) in plan.iter().zip(&mut means).zip(&most) {
                    for _ in 0..*blocks {
                        match (&step, dc, ac) {
                            (Step::Whole, Some(dc), Some(ac)) => {
                                walker.difference(dc, mean)?;
                                walker.whole(ac, most)?;
                            }
                            (Step::Dc, Some(dc), _) => walker.difference(dc, mean)?,
                            (Step::DcAgain, ..) => walker.bits.skip(1),
                            (Step::Ac(from, to), _, Some(ac)) => {
                                let part = &mut all[*part];
                                walker.first(ac, *from, *to, &mut part.known[y * part.stride + x])?;
                            }
                            (Step::AcAgain(from, to), _, Some(ac)) => {
                                let part = &mut all[*part];
                                walker.again(ac, *from, *to, &mut part.known[y * part.stride + x])?;
                            }
                            _ => return Err(broken("a scan without its code table")),
                        }
                    }
                }
            }
            // Looked at once a row: zeros are read beyond the end, and do no harm.
            if walker.bits.over() {
                return Err(DecodeErrorKind::Truncated.into());
            }
        }
        walker.end()?;
        Ok(walker.bits.at)
    }

    /// Blocks of a component that is alone in its scan; A.2.2.
    fn alone(&self, part: usize) -> (usize, usize) {
        let ((h, v), part) = (self.most(), &self.parts[part]);
        ((self.width * part.h).div_ceil(h).div_ceil(8), (self.height * part.v).div_ceil(v).div_ceil(8))
    }

    /// At the end of the picture: every coefficient was coded to its last bit. A file may leave some out by the standard,
    /// but no encoder does, and a file cut between two scans looks just so.
    fn end(&self) -> Result<(), DecodeError> {
        if self.parts.is_empty() || self.parts.iter().any(|p| p.lowest.iter().any(|&low| low != 0)) {
            return Err(DecodeErrorKind::Truncated.into());
        }
        Ok(())
    }
}

/// What a scan brings of each block.
enum Step {
    /// All of it (sequential coding).
    Whole,
    /// The mean, to some bits; then one bit more (G.1.2.1).
    Dc,
    DcAgain,
    /// A band of coefficients, to some bits; then one bit more (G.1.2.2, G.1.2.3).
    Ac(u8, u8),
    AcAgain(u8, u8),
}

struct Walker<'a> {
    bits: Bits<'a>,
    /// Blocks still to come without anything new (end-of-band run).
    run: u32,
}

impl Walker<'_> {
    /// F.2.2.
    fn whole(&mut self, ac: &Codes, most: &[u8; 64]) -> Result<(), DecodeError> {
        let mut k = 1;
        while k < 64 {
            let symbol = self.bits.symbol(ac)?;
            match (symbol >> 4, symbol & 15) {
                (15, 0) => k += 16,
                (_, 0) => break,
                (run, bits) => {
                    k += usize::from(run);
                    if most.get(k).is_none_or(|most| bits > *most) {
                        return Err(broken("coefficients beyond their range or block"));
                    }
                    k += 1;
                }
            }
        }
        if k > 64 { Err(broken("coefficients beyond their block")) } else { Ok(()) }
    }

    /// F.2.2.1.
    fn difference(&mut self, dc: &Codes, mean: &mut Mean) -> Result<(), DecodeError> {
        self.bits.fill();
        let (length, bits) = self.bits.code(dc)?;
        // At most 11 bits for 8-bit pictures (table F.1); 12-bit ones the decoder refuses.
        if bits > 11 {
            return Err(broken("a difference beyond its range"));
        }
        self.bits.skip(length);
        if bits > 0 {
            let value = self.bits.take(bits) as i32;
            mean.value += if value >> (bits - 1) == 1 { value } else { value + 1 - (1 << bits) };
            if mean.value.abs() > mean.most {
                return Err(broken("brightness beyond its range"));
            }
        }
        Ok(())
    }

    fn first(&mut self, ac: &Codes, from: u8, to: u8, known: &mut u64) -> Result<(), DecodeError> {
        if self.run > 0 {
            self.run -= 1;
            return Ok(());
        }
        let mut k = from;
        while k <= to {
            let symbol = self.bits.symbol(ac)?;
            let run = symbol >> 4;
            match (run, symbol & 15) {
                (15, 0) => k += 16,
                (_, 0) => {
                    self.run = (1 << run) - 1 + self.bits.take(run);
                    break;
                }
                _ => {
                    k += run;
                    if k > to {
                        return Err(broken("coefficients beyond their band"));
                    }
                    *known |= 1 << k;
                    k += 1;
                }
            }
        }
        Ok(())
    }

    fn again(&mut self, ac: &Codes, from: u8, to: u8, known: &mut u64) -> Result<(), DecodeError> {
        let mut k = from;
        if self.run == 0 {
            while k <= to {
                let symbol = self.bits.symbol(ac)?;
                let (mut run, size) = (symbol >> 4, symbol & 15);
                if size == 0 && run < 15 {
                    self.run = (1 << run) + self.bits.take(run);
                    break;
                }
                if size > 1 {
                    return Err(broken("a refinement of more than a bit"));
                }
                // Past what is known, a bit each, and past `run` zeros, to the place of what is new.
                while k <= to {
                    if *known >> k & 1 == 1 {
                        self.bits.skip(1);
                    } else if run == 0 {
                        break;
                    } else {
                        run -= 1;
                    }
                    k += 1;
                }
                if size == 1 {
                    if k > to {
                        return Err(broken("coefficients beyond their band"));
                    }
                    *known |= 1 << k;
                }
                k += 1;
            }
        }
        if self.run > 0 {
            self.run -= 1;
            for k in k..=to {
                if *known >> k & 1 == 1 {
                    self.bits.skip(1);
                }
            }
        }
        Ok(())
    }

    /// At a restart marker (F.2.2.4): the one that is due must stand there.
    fn restart(&mut self, due: u8) -> Result<(), DecodeError> {
        self.end()?;
        match self.bits.data.get(self.bits.at..) {
            Some([0xff, marker, ..]) if *marker == 0xd0 + due => {
                self.bits = Bits::from(self.bits.data, self.bits.at + 2)
            }
            Some([0xff, 0xd9, ..]) | None => return Err(DecodeErrorKind::Truncated.into()),
            _ => return Err(broken("a restart out of turn")),
        }
        Ok(())
    }

    /// At the end of coded data: all read, and nothing but padding left.
    fn end(&mut self) -> Result<(), DecodeError> {
        if self.bits.over() {
            return Err(DecodeErrorKind::Truncated.into());
        }
        if self.run > 0 || !self.bits.only_padding() {
            return Err(broken("coded data that does not fit its picture"));
        }
        Ok(())
    }
}

/// The mean of the blocks of one component: each differs from the one before.
struct Mean {
    value: i32,
    most: i32,
}

impl Mean {
    /// `low`: how many lower bits come in later scans.
    fn new(steps: &[u16], low: u8) -> Mean {
        let step = steps.first().map_or(1, |s| i32::from(*s).max(1));
        Mean { value: 0, most: ((MOST_VALUE / step) >> low) + 2 }
    }
}

/// A Huffman code (annex C), prepared for reading.
struct Codes {
    /// By the next ten bits: length of the code and, in the upper half, its symbol; 0 where the code is longer.
    short: Vec<u16>,
    /// By length: the first number that is too large for it, aligned to 16 bits, and what leads to its symbols.
    above: [u32; 17],
    offset: [i32; 17],
    symbols: [u8; 256],
}

impl Codes {
    fn new(counts: &[u8; 16], given: &[u8]) -> Result<Codes, DecodeError> {
        let mut codes = Codes { short: vec![0; 1 << LOOK], above: [0; 17], offset: [0; 17], symbols: [0; 256] };
        if given.len() > 256 {
            return Err(broken("a code table of too many symbols"));
        }
        codes.symbols[..given.len()].copy_from_slice(given);
        let (mut code, mut at) = (0u32, 0usize);
        for length in 1..=16u32 {
            let count = usize::from(counts[length as usize - 1]);
            codes.offset[length as usize] = at as i32 - code as i32;
            for symbol in &given[at..at + count] {
                if code >= 1 << length {
                    return Err(broken("a code table with too many codes"));
                }
                if length <= LOOK {
                    let from = (code << (LOOK - length)) as usize;
                    codes.short[from..from + (1 << (LOOK - length))].fill(u16::from(*symbol) << 8 | length as u16);
                }
                code += 1;
            }
            at += count;
            codes.above[length as usize] = code << (16 - length);
            code <<= 1;
        }
        Ok(codes)
    }

    /// Length and symbol of the code at the front of 16 bits.
    fn long(&self, front: u32) -> Option<(u32, u8)> {
        let length = (LOOK as usize + 1..=16).find(|&l| front < self.above[l])?;
        let index = (front >> (16 - length)) as i32 + self.offset[length];
        Some((length as u32, *self.symbols.get(usize::try_from(index).ok()?)?))
    }
}

/// Bits of coded data up to the next marker; zeros after it.
struct Bits<'a> {
    data: &'a [u8],
    /// The next byte; at a marker, it stays there.
    at: usize,
    /// Bits read and not used, at the top.
    held: u64,
    left: u32,
    /// Bits made up.
    made: u32,
    /// Whether any were made up.
    ended: bool,
}

impl<'a> Bits<'a> {
    fn new(data: &'a [u8]) -> Bits<'a> {
        Bits::from(data, 0)
    }

    fn from(data: &'a [u8], at: usize) -> Bits<'a> {
        Bits { data, at, held: 0, left: 0, made: 0, ended: false }
    }

    /// Holds 32 bits or more: a code of 16 and a value of at most 15.
    #[inline(always)]
    fn fill(&mut self) {
        if self.left > 32 {
            return;
        }
        if let Some(word) = self.data.get(self.at..).and_then(|d| d.first_chunk::<4>()) {
            let word = u32::from_be_bytes(*word);
            // No byte is FF: no byte of the complement is zero.
            let not = !word;
            if not.wrapping_sub(0x0101_0101) & !not & 0x8080_8080 == 0 {
                self.held |= u64::from(word) << (32 - self.left);
                self.left += 32;
                self.at += 4;
                return;
            }
        }
        self.slow();
    }

    #[cold]
    fn slow(&mut self) {
        while self.left <= 56 {
            let byte = self.next();
            if byte.is_none() {
                self.ended = true;
                self.made = self.made.saturating_add(8);
            }
            self.held |= u64::from(byte.unwrap_or(0)) << (56 - self.left);
            self.left += 8;
        }
    }

    /// The next byte of coded data, none at a marker: FF is followed by 0, or is none (F.1.2.3).
    fn next(&mut self) -> Option<u8> {
        let byte = *self.data.get(self.at)?;
        if byte == 0xff {
            if self.data.get(self.at + 1) != Some(&0) {
                return None;
            }
            self.at += 1;
        }
        self.at += 1;
        Some(byte)
    }

    #[inline(always)]
    fn skip(&mut self, n: u32) {
        if self.left < n {
            self.fill();
        }
        self.held <<= n;
        self.left -= n;
    }

    fn take(&mut self, n: u8) -> u32 {
        if n == 0 {
            return 0;
        }
        self.fill();
        let value = (self.held >> (64 - u32::from(n))) as u32;
        self.skip(n.into());
        value
    }

    /// The next symbol; the bits of the value that its lower half announces are passed over.
    #[inline(always)]
    fn symbol(&mut self, codes: &Codes) -> Result<u8, DecodeError> {
        self.fill();
        let (length, symbol) = self.code(codes)?;
        let all = length + u32::from(symbol & 15);
        self.held <<= all;
        self.left -= all;
        Ok(symbol)
    }

    /// Length and symbol of the code ahead, in bits held.
    #[inline(always)]
    fn code(&self, codes: &Codes) -> Result<(u32, u8), DecodeError> {
        match codes.short[(self.held >> (64 - LOOK)) as usize] {
            0 => codes.long((self.held >> 48) as u32).ok_or_else(|| self.unknown()),
            entry => Ok((u32::from(entry & 0xff), (entry >> 8) as u8)),
        }
    }

    /// A code that no table has: beyond the end, for want of data.
    fn unknown(&self) -> DecodeError {
        if self.ended { DecodeErrorKind::Truncated.into() } else { broken("an unknown code") }
    }

    /// Whether more was used than there is.
    fn over(&self) -> bool {
        self.made > self.left
    }

    /// Passes over padding bytes to the next marker; whether that is all there is.
    fn only_padding(&mut self) -> bool {
        // The rest of a byte is padded with ones, by some with zeros; then whole bytes of either.
        let real = self.left - self.made.min(self.left);
        let mut whole = (self.held << (real % 8)).to_be_bytes().into_iter().take(real as usize / 8);
        if !whole.all(|b| b == 0 || b == 0xff) {
            return false;
        }
        loop {
            match self.data.get(self.at..) {
                Some([0xff, 0 | 0xff, ..] | [0, ..]) => self.at += 1,
                Some([0xff, _, ..]) | Some([] | [0xff]) | None => return true,
                Some(_) => return false,
            }
        }
    }
}
