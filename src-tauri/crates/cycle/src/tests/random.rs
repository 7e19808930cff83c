//! Random crews.

mod found;

use proptest::prelude::*;

use super::*;

fn acts() -> impl Strategy<Value = Act> {
    let most: Vec<Act> = Act::ALL
        .iter()
        .copied()
        .filter(|a| !a.word().starts_with("end_"))
        .collect();
    proptest::sample::select(most)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

    /// One voice at a time; a replay of the log gives the identical view; an undone act leaves
    /// state line and check as if it had never been.
    #[test]
    fn any_crew(taps in proptest::collection::vec((700u64..25_000, acts(), 0u8..12), 1..70)) {
        let mut w = started();
        let mut t = 500;
        for (gap, act, undo) in taps {
            t += gap;
            w.until(t);
            let before = w.run.view(Ms(t));
            let log = w.log.len();
            w.tap(t, act);
            let taken = w.log.iter().skip(log).any(|e| matches!(e.fact, Fact::Mark(_)));
            if undo == 0 && taken {
                let later = t + 300;
                w.undo(later);
                let after = w.run.view(Ms(later));
                prop_assert_eq!((after.state, after.state_since), (before.state, before.state_since));
                prop_assert_eq!(after.shocks, before.shocks);
                let silent = beat::Pattern::Silent { breath_ms: 0 };
                let (heard, wanted) = (w.run.sounding().unwrap(), w.run.wanted(Ms(later)));
                prop_assert!(
                    heard.score == wanted.score
                        || (heard.score.pattern, wanted.score.pattern) == (silent, silent)
                );
                t = later;
            }
        }
        w.until(t + 5000);
        let replayed = Run::replay(setup(), &w.log).unwrap();
        prop_assert_eq!(replayed.view(w.now), w.run.view(w.now));
        let lengths = setup().clips;
        let mut voices: Vec<(u64, u64)> = w.log.iter().filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) if c.outcome == CueOutcome::Spoken && c.kind == "voice" => {
                Some((c.start_ms.0, c.cue))
            }
            _ => None,
        }).filter_map(|(start, cue)| {
            let cut = w.log.iter().find_map(|e| match &e.fact {
                Fact::Deed(Deed::Cue(c)) if c.cue == cue && c.outcome == CueOutcome::Cut => Some(e.taken.0),
                _ => None,
            });
            let len = w.log.iter().find_map(|e| match &e.fact {
                Fact::Deed(Deed::Cue(c)) if c.cue == cue => c.id.map(|p| u64::from(lengths.ms(p))),
                _ => None,
            })?;
            Some((start, cut.unwrap_or(u64::MAX).min(start + len)))
        }).collect();
        voices.sort_unstable();
        for pair in voices.windows(2) {
            prop_assert!(pair[0].1 <= pair[1].0, "voices {:?} and {:?}", pair[0], pair[1]);
        }
    }
}
