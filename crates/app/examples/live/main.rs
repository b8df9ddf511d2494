use face::*;
use phantom::{Film, Person, photograph};
use std::collections::BTreeMap;
use std::time::Instant;
use vision::{Care, Finder, Followed, Follower, View};
use vocab::Side;

fn asked(places: &Places) -> Vec<(&str, Side)> {
    let head = face::drawn_head();
    let mut list = Vec::new();
    for code in places.codes() {
        let midline = places.find(code, Side::Left, &head).is_some_and(|(at, _)| at[0].abs() < 1e-6);
        list.extend(if midline { vec![(code, Side::Midline)] } else { vec![(code, Side::Left), (code, Side::Right)] });
    }
    list
}
fn q(v: &mut Vec<f64>, s: f64) -> f64 {
    v.sort_by(f64::total_cmp);
    v.get(((v.len() as f64 - 1.0) * s).round() as usize).copied().unwrap_or(f64::NAN)
}

fn main() {
    let a: Vec<usize> = std::env::args().skip(1).map(|w| w.parse().unwrap()).collect();
    let (people, frames) = (a[0], a[1]);
    let (w, h) = (a[2], a[2] * 3 / 4);
    let rate = 15.0;
    let places = Places::built_in();
    let asked = asked(&places);
    let finder = Finder::new().unwrap().beside();
    type E = BTreeMap<(String, String), Vec<f64>>;
    let mut errs: [E; 5] = Default::default();
    let mut t = [0.0f64; 5];
    let mut n = 0.0;
    let mut ft: Vec<f64> = vec![];
    for seed in 1..=people as u64 {
        let person = Person::invented(seed);
        let film = Film::of(&person, w, h, rate);
        let mut pp: Vec<(f64, char)> = vec![];
        let mut base: Option<OwnMap> = None;
        let mut fo = Follower::new(&finder);
        let mut last: Option<Landmarks> = None;
        for i in 0..frames {
            let (p, s) = film.frame(i * 3);
            let (pic, truth) = photograph(&p, &s);
            let view = View::new(pic.width, pic.height, &pic.rgb).unwrap();
            let line: Vec<[f64; 2]> = truth.hairline_mm.iter().map(|p| [p[0], p[1]]).collect();
            let head = Head::new(truth.head_mm.clone(), Hairline::through(line, HairlineSource::Hand, 0.0))
                .with_thumb(p.build.thumb_mm);
            let t0 = Instant::now();
            let one = finder.find(&view, Care::ONE_PASS).unwrap();
            let t1 = Instant::now();
            let tracked = match &last {
                Some(l) => finder.track(&view, l).unwrap().0,
                None => one.landmarks.clone(),
            };
            let t2 = Instant::now();
            let best = finder.find(&view, Care::PHOTOGRAPH).unwrap();
            let t3 = Instant::now();
            if base.is_none() {
                base = OwnMap::make(&best.landmarks, &view, &Hands::default(), &places, &asked);
            }
            let t4 = Instant::now();
            let b = base.as_ref().unwrap();
            let m0 = OwnMap::make(&one.landmarks, &view, &Hands::default(), &places, &asked).unwrap();
            let t5 = Instant::now();
            let t6 = Instant::now();
            let fm = match fo.next(&view, &places, &asked).unwrap() {
                Followed::Face(m) => Some(*m),
                o => {
                    println!("{seed} {i} {o:?}");
                    None
                }
            };
            ft.push(t6.elapsed().as_secs_f64() * 1e3);
            let maps = [
                Some(m0),
                b.follow(&one.landmarks, &places, &asked),
                b.follow(&tracked, &places, &asked),
                b.follow(&best.landmarks, &places, &asked),
                fm,
            ];
            last = Some(tracked);
            t[0] += (t1 - t0).as_secs_f64();
            t[1] += (t2 - t1).as_secs_f64();
            t[2] += (t3 - t2).as_secs_f64();
            t[3] += (t4 - t3).as_secs_f64();
            t[4] += (t5 - t4).as_secs_f64();
            n += 1.0;
            for (k, m) in maps.iter().enumerate() {
                let Some(m) = m.as_ref() else { continue };
                for pt in &m.points {
                    let (place, _) = places.find(&pt.code, pt.side, &head).unwrap();
                    let [x, y] = truth.project(place);
                    let mm = (pt.at.x - x).hypot(pt.at.y - y) * truth.mm_per_px;
                    if (k == 4 || k == 0) && pt.code == "GV24" {
                        pp.push((
                            (pt.at.y - y) * truth.mm_per_px,
                            if m.head.hairline.source == HairlineSource::Seen { 's' } else { 'p' },
                        ));
                    }
                    errs[k].entry((pt.code.clone(), format!("{:?}", pt.side))).or_default().push(mm);
                }
            }
        }
        eprintln!(
            "person {seed} {:?} {:?}: GV24 {:?}",
            person.hair,
            person.tone,
            pp.iter().map(|(v, h)| format!("{v:.1}{h}")).collect::<Vec<_>>().join(" ")
        );
    }
    println!(
        "ms: find1 {:.1} track {:.1} photo {:.1} make {:.1} make1 {:.1}",
        t[0] / n * 1e3,
        t[1] / n * 1e3,
        t[2] / n * 1e3,
        t[3] / n * 1e3,
        t[4] / n * 1e3
    );
    for (k, name) in ["each own", "find1", "track", "photo", "follow"].iter().enumerate() {
        let mut all: Vec<f64> = errs[k].values().flatten().copied().collect();
        println!(
            "{name}: p50 {:.2} p95 {:.2} worst {:.2} within3 {:.1}%",
            q(&mut all, 0.5),
            q(&mut all, 0.95),
            q(&mut all, 1.0),
            100.0 * all.iter().filter(|e| **e <= 3.0).count() as f64 / all.len() as f64
        );
    }
    println!("follow ms p5 {:.1} p50 {:.1} p95 {:.1}", q(&mut ft, 0.05), q(&mut ft, 0.5), q(&mut ft, 0.95));
    let mut e2 = errs[4].clone();
    for (key, v) in e2.iter_mut() {
        let mut o = errs[3][key].clone();
        let mut z = errs[0][key].clone();
        println!(
            "{:8} {:9} follow p50 {:.2} p95 {:.2} worst {:.2} | photo {:.2} {:.2} | each {:.2} {:.2}",
            key.0,
            key.1,
            q(v, 0.5),
            q(v, 0.95),
            q(v, 1.0),
            q(&mut o, 0.5),
            q(&mut o, 0.95),
            q(&mut z, 0.5),
            q(&mut z, 0.95)
        );
    }
}
