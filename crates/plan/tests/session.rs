//! The session: its rules on 10 000 random sequences of events, each rule alone where it can be named, and shorter rests.

#[path = "common/played.rs"]
mod played;
#[path = "common/random.rs"]
mod random;

use std::sync::OnceLock;

use plan::atlas::Atlas;
use plan::screening::Clearance;
use plan::session::{Do, Event, Felt, Memory, Note, Over, Past, Phase, Score, State, Status, remember};
use plan::solve::instance;
use random::Rng;
use vocab::{Movement, Side};

/// So many sequences.
const ALL: usize = 10_000;

/// The scores that all tests play on, drawn once.
fn scores() -> &'static [Score] {
    static SCORES: OnceLock<Vec<Score>> = OnceLock::new();
    SCORES.get_or_init(|| {
        let (atlas, mut rng) = (Atlas::built_in(), Rng::new(1));
        let drawn = std::iter::repeat_with(|| played::random_score(&atlas, &mut rng));
        drawn.flatten().take(ALL / played::SEQUENCES).collect()
    })
}

/// Scores with random events, as many as [`ALL`].
fn played(seed: u64) -> impl Iterator<Item = (&'static Score, Vec<Event>)> {
    let mut rng = Rng::new(seed);
    let each = scores().iter().flat_map(|score| std::iter::repeat_n(score, played::SEQUENCES));
    each.map(move |score| (score, played::random_events(&mut rng)))
}

/// Plays random sequences; `look` sees score, state before, event, state after.
fn play(seed: u64, mut look: impl FnMut(&Score, &State, &Event, &State)) {
    for (score, events) in played(seed) {
        let mut state = State::begin(score);
        for event in &events {
            // Time passes first, so that what is seen is the event alone.
            state.until(score, event.at);
            let before = state.clone();
            state.apply(score, event);
            look(score, &before, event, &state);
        }
    }
}

/// Whether both are in the same hold.
fn same_hold(before: &State, after: &State) -> bool {
    before.phase == Phase::Hold && after.phase == Phase::Hold && before.present() == after.present()
}

#[test]
fn a_log_replays_to_the_same_state_however_time_is_cut() {
    let mut rng = Rng::new(11);
    let mut sequences = 0;
    for (score, events) in played(12) {
        let last = events.last().map_or(0, |e| e.at) + rng.below(60_000) as u64;
        let whole = State::replay(score, &events, last);
        assert_eq!(whole, State::replay(score, &events, last));
        // The page looks at the clock many times a second: that changes nothing.
        let mut cut = State::begin(score);
        for event in &events {
            while cut.now < event.at {
                let next = (cut.now + 1 + rng.below(9_000) as u64).min(event.at);
                cut.until(score, next);
            }
            cut.apply(score, event);
        }
        while cut.now < last {
            let next = (cut.now + 1 + rng.below(9_000) as u64).min(last);
            cut.until(score, next);
        }
        cut.note = whole.note;
        assert_eq!(cut, whole);
        sequences += 1;
    }
    assert_eq!(sequences, ALL);
}

// proves: tender_grows_within_its_most
#[test]
fn a_hold_grows_where_it_is_tender_and_never_beyond_its_most() {
    let (mut grew, mut full) = (0, 0);
    play(21, |score, before, event, after| {
        if after.phase == Phase::Hold {
            let row = &score.steps[after.present().expect("a hold has a step")];
            assert!(after.hold <= u64::from(row.most) * 1000, "{row:?} lasts {}", after.hold);
        }
        if !same_hold(before, after) || !matches!(event.what, Do::Longer | Do::Felt(Felt::Tender | Felt::Tight)) {
            return;
        }
        let row = &score.steps[before.present().expect("a step")];
        let grown = (before.hold + u64::from(row.grow) * 1000).min(u64::from(row.most) * 1000);
        if before.barred {
            assert_eq!(after.hold, before.hold);
        } else {
            assert_eq!(after.hold, grown);
            assert_eq!(after.left - before.left, grown - before.hold);
            grew += usize::from(grown > before.hold);
            full += usize::from(grown == before.hold);
        }
    });
    assert!(grew > 1000 && full > 100, "{grew} {full}");
}

// proves: red_never_lengthens
#[test]
fn after_red_or_pain_a_hold_is_never_lengthened() {
    let (mut red, mut asked, mut later) = (0, 0, 0);
    play(31, |score, before, event, after| {
        let row = before.present().map(|i| &score.steps[i]);
        if event.what == Do::Felt(Felt::Red) && before.phase == Phase::Hold {
            red += 1;
            let row = row.expect("a step");
            for (i, other) in score.steps.iter().enumerate() {
                let open = before.status[i] == Status::ToCome && after.status[i] == Status::ToCome;
                if open && other.target == row.target {
                    let softer = before.lighter[i].min(before.pressure);
                    assert!(after.lighter[i] <= softer);
                    assert!(
                        after.lighter[i] < before.pressure || after.lighter[i] == other.softest,
                        "next time lighter"
                    );
                    later += 1;
                }
            }
            if same_hold(before, after) {
                assert!(after.barred && after.left <= before.left && after.hold <= before.hold);
                assert!(after.hold <= u64::from(row.seconds) * 1000 || after.hold == before.hold);
            }
        }
        if same_hold(before, after) && before.barred && event.what != Do::Back && event.what != Do::Swap {
            assert!(after.barred && after.hold <= before.hold && after.left <= before.left, "{event:?}");
            asked += usize::from(matches!(event.what, Do::Longer | Do::Felt(Felt::Tender | Felt::Tight)));
        }
    });
    assert!(red > 500 && asked > 100 && later > 100, "{red} {asked} {later}");
}

// proves: painful_softens
#[test]
fn what_hurts_becomes_lighter_and_shorter_or_ends() {
    let (mut softened, mut ended) = (0, 0);
    play(41, |score, before, event, after| {
        if event.what != Do::Felt(Felt::Painful) || before.phase != Phase::Hold {
            return;
        }
        let step = before.present().expect("a step");
        if same_hold(before, after) {
            assert!(after.pressure < before.pressure && after.pressure >= score.steps[step].softest);
            assert!(after.left <= before.left / 2 && after.hold < before.hold && after.barred);
            softened += 1;
        } else {
            assert_ne!(after.status[step], Status::Present);
            ended += 1;
        }
        for (i, other) in score.steps.iter().enumerate() {
            if other.target == score.steps[step].target && after.status[i] == Status::ToCome {
                assert!(after.lighter[i] <= before.lighter[i]);
                assert!(after.lighter[i] < before.pressure || after.lighter[i] == other.softest);
            }
        }
    });
    assert!(softened > 100 && ended > 1000, "{softened} {ended}");
}

// proves: painful_ends_at_eye_and_neck
#[test]
fn at_the_eye_and_the_neck_what_hurts_ends() {
    let mut some = [0, 0];
    play(51, |score, before, event, after| {
        let Some(step) = before.present().filter(|_| before.phase == Phase::Hold) else { return };
        if event.what == Do::Felt(Felt::Painful) && score.steps[step].delicate {
            assert!(!matches!(after.status[step], Status::Present | Status::ToCome));
            some[usize::from(score.steps[step].movement == Movement::Work)] += 1;
        }
    });
    assert!(some.iter().all(|n| *n > 100), "{some:?}");
    let atlas = Atlas::built_in();
    for id in ["neck", "eye"] {
        for zone in &atlas.zone_set(id).expect("a zone set").zones {
            let all =
                atlas.targets.iter().enumerate().filter(|(_, t)| t.crosses.contains(zone) && !t.techniques.is_empty());
            for (ix, target) in all {
                let step = plan::routine::Step {
                    movement: Movement::Work,
                    what: plan::routine::What::Target(plan::atlas::TargetIx(ix), target.techniques[0]),
                    side: target.sides.each()[0],
                    tool: plan::atlas::ToolIx(0),
                    pressure: target.pressure,
                    seconds: 20,
                };
                assert!(Score::new(&atlas, &[step], 5, 0).steps[0].delicate, "{}", target.id);
            }
        }
    }
}

// proves: third_pain_ends_the_target
#[test]
fn a_target_that_hurt_three_times_is_left_alone() {
    let mut some = 0;
    play(61, |score, before, event, after| {
        for (target, pains) in after.pains.iter().enumerate() {
            if *pains < 3 {
                continue;
            }
            some += usize::from(before.pains[target] < 3 && event.what == Do::Felt(Felt::Painful));
            for (i, row) in score.steps.iter().enumerate() {
                if row.target == target {
                    assert!(matches!(after.status[i], Status::Done | Status::LeftOut), "{event:?}: step {i}");
                }
            }
        }
    });
    assert!(some > 20, "{some}");
}

// proves: no_opening_nothing_beyond
#[test]
fn nothing_is_worked_whose_way_is_not_open() {
    let (mut held, mut lost) = (0, 0);
    play(71, |score, before, _, after| {
        if after.phase != Phase::Hold {
            return;
        }
        let step = after.present().expect("a hold has a step");
        for need in &score.steps[step].needs {
            assert_eq!(after.status[*need], Status::Done, "step {step} needs {need}");
            held += 1;
        }
        let gone = |s: &State| s.status.iter().filter(|s| **s == Status::LeftOut).count();
        lost += usize::from(gone(after) > gone(before) + 1);
    });
    assert!(held > 10_000 && lost > 100, "{held} {lost}");
}

// proves: close_is_kept
#[test]
fn what_was_opened_is_closed_unless_it_must_end_at_once() {
    let (mut late, mut early) = (0, 0);
    for (score, events) in played(81) {
        // Nobody leaves a closing out by hand and none hurts three times: then nothing else may.
        let mut state = State::begin(score);
        let mut by_hand = vec![false; score.steps.len()];
        for event in &events {
            state.until(score, event.at);
            if let (Do::Skip, Some(step)) = (event.what, state.present()) {
                by_hand[step] = true;
            }
            state.apply(score, event);
            late += usize::from(state.note == Some(Note::ShorterRest));
        }
        // Nothing more happens: it runs to its end, at once if it was paused.
        let end = Event { at: state.now, what: Do::Resume };
        state.apply(score, &end);
        state.until(score, state.now + 100_000_000);
        if !matches!(state.over, Some(Over::Whole | Over::Early)) {
            continue;
        }
        early += usize::from(state.over == Some(Over::Early));
        for (i, row) in score.steps.iter().enumerate() {
            let open = row.closes.iter().any(|o| state.status[*o] == Status::Done);
            if open && !by_hand[i] && state.pains[row.target] < 3 {
                assert_eq!(state.status[i], Status::Done, "closing {i} after {events:?}");
            }
            // And nothing is closed that was not opened.
            if !row.closes.is_empty() && !open {
                assert_ne!(state.status[i], Status::Done);
            }
        }
    }
    assert!(late > 200 && early > 100, "{late} {early}");
}

// proves: sign_ends_everything
#[test]
fn a_sign_ends_the_session_and_nothing_starts_it_again() {
    let mut some = [0, 0, 0];
    play(91, |_, before, event, after| {
        let over = match event.what {
            Do::Sign => Some(Over::Sign),
            Do::Felt(Felt::Dizzy) => Some(Over::Dizzy),
            Do::Felt(Felt::Numb) => Some(Over::Numb),
            _ => None,
        };
        let running = matches!(before.phase, Phase::Change | Phase::Hold);
        if let Some(over) = over.filter(|o| running || before.phase == Phase::Ready && *o == Over::Sign) {
            assert_eq!((after.phase, after.over, after.present()), (Phase::Over, Some(over), None));
            some[over as usize - Over::Sign as usize] += 1;
        }
        if before.phase == Phase::Over {
            assert_eq!((after.phase, after.over), (Phase::Over, before.over), "{event:?}");
            assert_eq!(after.status, before.status);
            assert_eq!(after.following(), None);
        }
    });
    assert!(some.iter().all(|n| *n > 50), "{some:?}");
}

#[test]
fn a_shorter_rest_fits_or_leaves_the_close_alone() {
    let (mut fits, mut alone) = (0, 0);
    play(101, |score, _, _, after| {
        if after.note != Some(Note::ShorterRest) {
            return;
        }
        let open = |i: usize| matches!(after.status[i], Status::ToCome | Status::Present);
        let work = (0..score.steps.len()).any(|i| open(i) && score.steps[i].movement == Movement::Work);
        let mut last = after.present();
        let mut rest = after.left + if after.phase == Phase::Change { after.hold } else { 0 };
        for i in after.order.iter().copied().filter(|i| after.status[*i] == Status::ToCome) {
            rest += u64::from(score.change_s(last, i) + score.steps[i].seconds) * 1000;
            last = Some(i);
        }
        let fit = after.spent + rest <= u64::from(score.budget + score.slack) * 1000;
        assert!(fit || !work, "late by more than the slack and still working");
        fits += usize::from(fit);
        alone += usize::from(!work);
    });
    assert!(fits > 200 && alone > 20, "{fits} {alone}");
}

/// The shorter rests against every set of targets there is, where there are few enough.
#[test]
fn shorter_rests_lose_as_little_as_can_be() {
    let mut checked = 0;
    for score in scores() {
        for ending in &score.endings {
            let mut groups: Vec<(usize, Vec<usize>)> = Vec::new();
            for (i, row) in score.steps.iter().enumerate().skip(ending.after + 1) {
                if row.movement != Movement::Work {
                    continue;
                }
                match groups.iter_mut().find(|(t, _)| *t == row.target) {
                    Some((_, steps)) => steps.push(i),
                    None => groups.push((row.target, vec![i])),
                }
            }
            let half = |g: &(usize, Vec<usize>)| {
                (0..=ending.after).any(|d| score.steps[d].movement == Movement::Work && score.steps[d].target == g.0)
            };
            if groups.len() > 9 {
                continue;
            }
            let lost = |drop: &[usize]| drop.iter().map(|i| score.steps[*i].seconds).sum::<u32>();
            let halves = |drop: &[usize]| groups.iter().filter(|g| half(g) && drop.contains(&g.1[0])).count();
            let whole = rest(score, ending.after, &[]);
            let freed = whole - rest(score, ending.after, &ending.drop);
            let best = (1..1usize << groups.len())
                .map(|set| {
                    let chosen = groups.iter().enumerate().filter(|(g, _)| set >> g & 1 == 1);
                    chosen.flat_map(|(_, g)| g.1.clone()).collect::<Vec<usize>>()
                })
                .filter(|drop| whole - rest(score, ending.after, drop) >= ending.late)
                .map(|drop| (halves(&drop), lost(&drop)))
                .min();
            assert!(freed >= ending.late);
            assert_eq!(best, Some((halves(&ending.drop), lost(&ending.drop))), "{ending:?}");
            checked += 1;
        }
    }
    assert!(checked > 1500, "{checked}");
}

/// Seconds of what is still to come after a place once these are left out, with what only they needed: written anew, not the machine's own.
fn rest(score: &Score, after: usize, drop: &[usize]) -> u32 {
    let steps = &score.steps;
    let work: Vec<usize> =
        (0..steps.len()).filter(|i| steps[*i].movement == Movement::Work && !drop.contains(i)).collect();
    let all: Vec<usize> = (0..steps.len()).filter(|i| steps[*i].movement == Movement::Work).collect();
    let opened = |o: usize| {
        o <= after
            || work.iter().any(|w| steps[*w].needs.contains(&o))
            || !all.iter().any(|w| steps[*w].needs.contains(&o))
    };
    let kept = |i: usize| match steps[i].movement {
        Movement::Open => opened(i),
        Movement::Prepare => work.iter().any(|w| steps[*w].glides) || !all.iter().any(|w| steps[*w].glides),
        Movement::Work => !drop.contains(&i),
        Movement::Close => steps[i].closes.is_empty() || steps[i].closes.iter().any(|o| opened(*o)),
    };
    let mut last = after;
    let mut sum = 0;
    for i in (after + 1..steps.len()).filter(|i| kept(*i)) {
        sum += score.change_s(Some(last), i) + steps[i].seconds;
        last = i;
    }
    sum
}

#[test]
fn what_was_felt_moves_the_next_draft_until_it_fades() {
    let atlas = Atlas::built_in();
    let target = |id: &str| atlas.target_named(id).expect("a target");
    let (jaw, brow, temple) = (target("jaw_muscle"), target("between_brows"), target("temple"));
    let past = |worked: &[_], felt: &[_]| Past {
        worked: worked.iter().map(|t| (*t, Side::Left)).collect(),
        felt: felt.iter().map(|(t, f)| (*t, Side::Left, *f)).collect(),
    };
    let older = past(&[jaw, brow, temple], &[(jaw, Felt::Painful), (brow, Felt::Tight), (temple, Felt::Red)]);
    assert_eq!(remember(&[]), Memory::default());
    assert_eq!(remember(std::slice::from_ref(&older)), Memory { tender: vec![brow], softer: vec![temple, jaw] });
    // Worked again: the jaw is easy, the brow was left out, the temple was both tender and red.
    let newer = past(&[jaw, temple], &[(jaw, Felt::Easy), (temple, Felt::Tender), (temple, Felt::Red)]);
    assert_eq!(remember(&[newer.clone(), older.clone()]), Memory { tender: vec![brow], softer: vec![temple] });
    let newest = past(&[jaw, brow, temple], &[]);
    assert_eq!(remember(&[newest, newer, older]), Memory::default());
}

#[test]
fn a_draft_heeds_what_was_felt() {
    let atlas = Atlas::built_in();
    let hands = atlas.tool_named("hands").expect("hands");
    let (mut softened, mut first, mut more) = (0, 0, 0);
    for concern in 0..atlas.concerns.len() {
        let asked = plan::request::Asked { concern: plan::atlas::ConcernIx(concern), priority: 3 };
        let plain = plan::request::Request::plain(12, vec![asked], hands);
        let clear = Clearance::new(
            &atlas,
            &plan::screening::Answers::all_no(&atlas).asked_on(random::today()),
            random::today(),
        );
        let Ok(usual) = instance(&atlas, &plain, &clear) else { continue };
        for item in &usual.items {
            let target = item.target;
            let felt = plan::request::Request { softer: vec![target], ..plain.clone() };
            let softer = instance(&atlas, &felt, &clear).expect("a problem");
            let most = atlas.target(target).pressure;
            let pressures = |problem: &plan::solve::instance::Instance| -> Vec<vocab::Pressure> {
                let here = problem.items.iter().filter(|i| i.target == target);
                here.flat_map(|i| &i.options).flat_map(|o| &o.steps).map(|s| s.pressure).collect()
            };
            for pressure in pressures(&softer) {
                assert!(pressure < most || most == vocab::Pressure::Featherlight, "{}", atlas.target(target).id);
                softened += 1;
            }
            assert!(pressures(&usual).iter().all(|p| *p == most));
            let felt = plan::request::Request { tender: vec![target], ..plain.clone() };
            let tender = instance(&atlas, &felt, &clear).expect("a problem");
            let of = |problem: &plan::solve::instance::Instance| {
                problem.items.iter().find(|i| i.target == target).map(|i| (i.weight, i.target_rank))
            };
            let ((was, _), (is, rank)) = (of(&usual).expect("an item"), of(&tender).expect("an item"));
            assert_eq!(is, was + was.div_ceil(2));
            let others = tender.items.iter().filter(|i| i.zone == item.zone && i.target != target);
            first += others.filter(|i| i.target_rank > rank).count();
            assert!(!tender.items.iter().any(|i| i.zone == item.zone && i.target_rank < rank));
            more += 1;
        }
    }
    assert!(softened > 100 && first > 20 && more > 50, "{softened} {first} {more}");
}
