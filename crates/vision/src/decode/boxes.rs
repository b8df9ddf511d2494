//! What a HEIC container asks for, added up before its decoder runs. The decoder bounds one picture at 268 megapixels
//! and copies the coded bytes of each tile, so a small file that names one tile thousands of times, or overlapping
//! extents, could take all memory. Boxes: ISO/IEC 14496-12; items and grids: ISO/IEC 23008-12; sequence parameters:
//! ITU-T H.265, 7.3.2.2 and 7.3.3.

use std::collections::BTreeMap;

use super::Limits;
use super::pixels::guarded;
use crate::error::{DecodeError, DecodeErrorKind};

/// Largest table (`iinf`, `iloc`, `iref`, `iprp` without pictures) in bytes; a phone's are below 30 KB, profiles
/// included.
const MOST_TABLE: usize = 4 << 20;
/// Most items that hold metadata rather than pictures; files have one or two.
const MOST_METADATA: usize = 64;
/// Coded pictures are padded to whole blocks, at most this many pixels a side.
const BLOCK: u32 = 64;

/// What the container says of itself.
pub(super) struct Claims {
    /// It asks for a turn or a mirroring.
    pub turned: bool,
}

/// Checks that nothing the container declares is beyond the limits.
pub(super) fn bound(bytes: &[u8], limits: &Limits) -> Result<Claims, DecodeError> {
    let mut claims = Claims { turned: false };
    let mut seen = false;
    let mut boxes = Boxes(bytes);
    while !boxes.0.is_empty() {
        let (declared, left) = (boxes.declared(), boxes.0.len() as u64);
        let Some((kind, body)) = boxes.next() else { break };
        // Half a file is not to be trusted, even where the picture is complete. Only boxes a picture is made of are
        // held to their word: some phones append things of their own.
        if matches!(&kind, b"mdat" | b"meta") && declared > left {
            return Err(DecodeErrorKind::Truncated.into());
        }
        if kind == *b"meta" {
            seen = true;
            guarded(|| meta(body, bytes.len(), limits, &mut claims))?;
        }
    }
    match seen {
        true => Ok(claims),
        false if Boxes(bytes).any(|(kind, _)| kind == *b"moov") => {
            Err(DecodeErrorKind::UnsupportedFormat("a film or a series of pictures").into())
        }
        // The first box is whole or the format would not be known; what follows was cut off.
        false => Err(DecodeErrorKind::Truncated.into()),
    }
}

/// What one item costs to decode.
#[derive(Default, Clone, Copy)]
struct Cost {
    pixels: u64,
    bytes: u64,
}

fn meta(body: &[u8], file: usize, limits: &Limits, claims: &mut Claims) -> Result<(), DecodeError> {
    let tables: Vec<_> = Boxes(body.get(4..).unwrap_or(&[])).collect();
    let mut costs: BTreeMap<u32, Cost> = BTreeMap::new();
    let mut configs = Vec::new();
    for (kind, table) in &tables {
        let checked = matches!(kind, b"iinf" | b"iloc" | b"iref" | b"iprp");
        if checked && table.len() > MOST_TABLE {
            return Err(DecodeError::broken("an oversized table in the container"));
        }
        if kind == b"iinf" && table.windows(4).filter(|w| matches!(*w, b"Exif" | b"mime")).count() > MOST_METADATA {
            return Err(DecodeError::broken("too many metadata items"));
        }
        if kind == b"iprp" {
            for (kind, properties) in Boxes(table) {
                if kind == *b"ipco" {
                    for (kind, property) in Boxes(properties) {
                        configs.push(config(kind, property, limits, claims)?);
                    }
                }
            }
        }
    }
    for (kind, table) in &tables {
        match kind {
            b"iloc" => extents(table, file as u64, &mut costs)?,
            b"iprp" => {
                Boxes(table).filter(|(kind, _)| kind == b"ipma").for_each(|(_, t)| owners(t, &configs, &mut costs))
            }
            _ => {}
        }
    }
    for (kind, table) in &tables {
        if kind == b"iref" {
            grids(table, file as u64, limits, &costs)?;
        }
    }
    Ok(())
}

/// The cost a property puts on the items that own it.
fn config(kind: [u8; 4], body: &[u8], limits: &Limits, claims: &mut Claims) -> Result<Cost, DecodeError> {
    match &kind {
        b"irot" => claims.turned |= body.first().is_some_and(|a| a & 3 != 0),
        b"imir" => claims.turned = true,
        b"ispe" => {
            let (sizes, _) = body.get(4..).unwrap_or(&[]).as_chunks::<4>();
            if let [w, h, ..] = sizes {
                limits.allow(u32::from_be_bytes(*w), u32::from_be_bytes(*h))?;
            }
        }
        b"hvcC" => {
            let mut pixels = 0;
            for (w, h) in sizes(body)? {
                limits.allow(w.saturating_sub(BLOCK).max(1), h.saturating_sub(BLOCK).max(1))?;
                pixels = pixels.max(u64::from(w) * u64::from(h));
            }
            return Ok(Cost { pixels, bytes: body.len() as u64 });
        }
        _ => {}
    }
    Ok(Cost::default())
}

/// `iloc`: how many bytes each item has.
fn extents(table: &[u8], file: u64, costs: &mut BTreeMap<u32, Cost>) -> Result<(), DecodeError> {
    let mut r = Bytes(table);
    let mut read = || -> Option<bool> {
        let version = r.number(4)? >> 24;
        let sizes = r.number(2)?;
        let [offset, length, base, index] = [12, 8, 4, 0].map(|shift| (sizes >> shift & 15) as usize);
        let index = if version == 1 || version == 2 { index } else { 0 };
        let wide = if version < 2 { 2 } else { 4 };
        for _ in 0..r.number(wide)? {
            let id = r.number(wide)? as u32;
            r.number(if version == 1 || version == 2 { 4 } else { 2 })?;
            r.number(base)?;
            let mut total = 0u64;
            for _ in 0..r.number(2)? {
                r.number(index)?;
                r.number(offset)?;
                total = total.saturating_add(r.number(length)?);
            }
            if total > file {
                return Some(false);
            }
            let cost = costs.entry(id).or_default();
            cost.bytes = cost.bytes.max(total);
        }
        Some(true)
    };
    // A table that cannot be read here cannot be read by the decoder either, which says so.
    if read() == Some(false) { Err(DecodeErrorKind::Truncated.into()) } else { Ok(()) }
}

/// `ipma`: which item owns which property.
fn owners(table: &[u8], configs: &[Cost], costs: &mut BTreeMap<u32, Cost>) {
    let mut r = Bytes(table);
    let mut read = || -> Option<()> {
        let head = r.number(4)?;
        let (wide_id, wide_index) = (head >> 24 > 0, head & 1 == 1);
        for _ in 0..r.number(4)? {
            let id = r.number(if wide_id { 4 } else { 2 })? as u32;
            for _ in 0..r.number(1)? {
                let index = if wide_index { r.number(2)? & 0x7fff } else { r.number(1)? & 0x7f };
                let Some(cost) = (index as usize).checked_sub(1).and_then(|i| configs.get(i)) else { continue };
                let item = costs.entry(id).or_default();
                item.pixels = item.pixels.max(cost.pixels);
                item.bytes = item.bytes.saturating_add(cost.bytes);
            }
        }
        Some(())
    };
    read();
}

/// `iref`: what each grid's tiles cost together.
fn grids(table: &[u8], file: u64, limits: &Limits, costs: &BTreeMap<u32, Cost>) -> Result<(), DecodeError> {
    let wide = if table.first() == Some(&0) { 2 } else { 4 };
    for (kind, body) in Boxes(table.get(4..).unwrap_or(&[])) {
        if kind != *b"dimg" {
            continue;
        }
        let mut r = Bytes(body);
        let mut sum = Cost::default();
        let mut read = || -> Option<()> {
            while !r.0.is_empty() {
                r.number(wide)?;
                sum = Cost::default();
                for _ in 0..r.number(2)? {
                    let id = r.number(wide)? as u32;
                    let cost = costs.get(&id).copied().unwrap_or_default();
                    sum.pixels = sum.pixels.saturating_add(cost.pixels);
                    sum.bytes = sum.bytes.saturating_add(cost.bytes);
                    // Tiles overhang the picture at two edges; a file's tiles share their configuration.
                    if sum.pixels > limits.most_pixels / 2 * 3 + (4 << 20) || sum.bytes > 4 * file + (4 << 20) {
                        return None;
                    }
                }
            }
            Some(())
        };
        if read().is_none() {
            return Err(DecodeError::broken("tiles that together are larger than any picture allowed, or cut off"));
        }
    }
    Ok(())
}

/// The coded sizes in an `hvcC`.
fn sizes(body: &[u8]) -> Result<Vec<(u32, u32)>, DecodeError> {
    /// Type of a sequence parameter set.
    const SPS: u64 = 33;
    let mut found = Vec::new();
    let mut r = Bytes(body.get(22..).unwrap_or(&[]));
    let mut read = || -> Option<()> {
        for _ in 0..r.number(1)? {
            r.number(1)?;
            for _ in 0..r.number(2)? {
                let length = r.number(2)? as usize;
                let unit = r.take(length)?;
                let mut head = Bytes(unit);
                let head = head.number(2)?;
                // Further layers' parameters have another shape and are not decoded.
                if head >> 9 & 63 == SPS && head >> 3 & 63 == 0 {
                    found.push(Bits::new(unit.get(2..)?).size()?);
                }
            }
        }
        Some(())
    };
    read().ok_or_else(|| DecodeError::broken("unreadable HEVC parameters"))?;
    Ok(found)
}

/// Big-endian numbers from a slice.
struct Bytes<'a>(&'a [u8]);

impl<'a> Bytes<'a> {
    fn take(&mut self, n: usize) -> Option<&'a [u8]> {
        let (taken, rest) = self.0.split_at_checked(n)?;
        self.0 = rest;
        Some(taken)
    }

    /// A number of `n` bytes, at most 8; none where it does not fit.
    fn number(&mut self, n: usize) -> Option<u64> {
        if n > 8 {
            return None;
        }
        Some(self.take(n)?.iter().fold(0, |v, &b| v << 8 | u64::from(b)))
    }
}

/// The boxes in a slice: kind and body. A box that runs past the end is cut there; nonsense ends the walk.
struct Boxes<'a>(&'a [u8]);

impl Boxes<'_> {
    /// How many bytes the next box says it has; one that ends with the file says 0.
    fn declared(&self) -> u64 {
        let mut r = Bytes(self.0);
        match r.number(4) {
            Some(1) => r.take(4).and_then(|_| r.number(8)).unwrap_or(u64::MAX),
            size => size.unwrap_or(u64::MAX),
        }
    }
}

impl<'a> Iterator for Boxes<'a> {
    type Item = ([u8; 4], &'a [u8]);

    fn next(&mut self) -> Option<Self::Item> {
        let mut r = Bytes(self.0);
        let size = r.number(4)?;
        let kind = *r.take(4)?.first_chunk::<4>()?;
        let size = if size == 1 { r.number(8)? } else { size };
        let head = self.0.len() - r.0.len();
        let end = if size == 0 { self.0.len() } else { usize::try_from(size).ok()?.min(self.0.len()) };
        let body = self.0.get(head..end)?;
        self.0 = &self.0[end..];
        Some((kind, body))
    }
}

/// Bits of a parameter set, with the emulation prevention bytes taken out.
struct Bits {
    bytes: Vec<u8>,
    at: usize,
}

impl Bits {
    fn new(unit: &[u8]) -> Bits {
        let mut bytes = Vec::with_capacity(unit.len());
        let mut zeros = 0;
        for &b in unit {
            if zeros >= 2 && b == 3 {
                zeros = 0;
                continue;
            }
            zeros = if b == 0 { zeros + 1 } else { 0 };
            bytes.push(b);
        }
        Bits { bytes, at: 0 }
    }

    fn bit(&mut self) -> Option<u32> {
        let byte = *self.bytes.get(self.at / 8)?;
        let bit = byte >> (7 - self.at % 8) & 1;
        self.at += 1;
        Some(bit.into())
    }

    fn bits(&mut self, n: usize) -> Option<u32> {
        (0..n).try_fold(0u32, |v, _| Some(v << 1 | self.bit()?))
    }

    /// Exponential Golomb code, unsigned.
    fn golomb(&mut self) -> Option<u32> {
        let mut zeros = 0;
        while self.bit()? == 0 {
            zeros += 1;
            if zeros > 31 {
                return None;
            }
        }
        Some((1 << zeros) - 1 + self.bits(zeros)?)
    }

    /// Width and height of a sequence parameter set, in luma samples.
    fn size(&mut self) -> Option<(u32, u32)> {
        self.bits(4)?;
        let sub_layers = self.bits(3)? as usize;
        // One flag, then the general profile, tier and level: 88 and 8 bits.
        self.at += 1 + 96;
        if sub_layers > 0 {
            let flags: Vec<_> = (0..8).map(|_| self.bits(2)).collect::<Option<_>>()?;
            for flag in flags.iter().take(sub_layers) {
                self.at += if flag & 2 != 0 { 88 } else { 0 } + if flag & 1 != 0 { 8 } else { 0 };
            }
        }
        self.golomb()?;
        if self.golomb()? == 3 {
            self.bit()?;
        }
        Some((self.golomb()?, self.golomb()?))
    }
}
