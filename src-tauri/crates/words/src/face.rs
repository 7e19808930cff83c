use cycle::{Act, Banner, Card, Figure, FitStep, StateWord, View};

use crate::{BannerLine, Face, Fixed, Key, Labels, NextLine, SaidLine, Words};

/// The keys that end a run, after the end key was held.
const ENDS: [Act; 4] = [
    Act::EndHandedOver,
    Act::EndStopped,
    Act::EndPulse,
    Act::EndNoArrest,
];

impl Words {
    /// The card of a view, with the banners of the house beside those of the run.
    pub fn face(&self, view: &View, house: &[Banner]) -> Face {
        Face {
            card: view.card,
            state: view.state,
            state_text: self.word("state", view.state.word()),
            reason: view.reason.map(|reason| self.word("reason", reason.word())),
            question: self.question(view),
            figure: view.figure,
            figure_label: self.fixed(figure_label(view)).to_owned(),
            figure_over: self.fixed(Fixed::FigureOver).to_owned(),
            next: view.next.map(|next| NextLine {
                text: self.word("next", next.word.word()),
                at: next.at,
            }),
            urgent: view.urgent,
            main: self.keys(view.card, &view.main),
            side: self.keys(view.card, &view.side),
            sheet: self.keys(view.card, &view.sheet),
            undo: view.undo,
            banners: self.banners(view, house),
            said: view.said.map(|said| SaidLine {
                text: self.word("prompt", said.prompt.word()),
                at: said.at,
            }),
            shocks: (view.shocks > 0).then(|| self.shocks(view.shocks)),
            outcome: view
                .outcome
                .map(|outcome| self.word("outcome", outcome.word())),
            entries: view.entries.clone(),
        }
    }

    /// The words that are the same on every card. `protocol` is the protocol's own name.
    pub fn labels(&self, protocol: &str) -> Labels {
        let fixed = |fixed| self.fixed(fixed).to_owned();
        Labels {
            lang: self.lang().to_owned(),
            app: fixed(Fixed::App),
            mark: fixed(Fixed::Mark),
            marks: fixed(Fixed::Marks),
            undo: fixed(Fixed::Undo),
            close: fixed(Fixed::Close),
            more: fixed(Fixed::More),
            hold_end: fixed(Fixed::HoldEnd),
            how_ended: fixed(Fixed::HowEnded),
            ends: self.keys(Card::Ended, &ENDS),
            new_run: fixed(Fixed::NewRun),
            ended_kept: fixed(Fixed::EndedKept),
            touched: fixed(Fixed::Touched),
            kept: fixed(Fixed::Kept),
            saving: fixed(Fixed::Saving),
            refused: fixed(Fixed::Refused),
            beat_light: fixed(Fixed::BeatLight),
            cautions: [
                Fixed::CautionTrained,
                Fixed::CautionProtocol,
                Fixed::CautionDevice,
                Fixed::CautionSenses,
            ]
            .map(fixed)
            .to_vec(),
            protocol: self.example(protocol),
        }
    }

    /// The card's question, as the service's windows and its change of compressor make it.
    fn question(&self, view: &View) -> String {
        let own = match (view.card, view.fit) {
            (Card::CheckDue, Some(FitStep::InCheck)) => Fixed::CheckFit,
            (Card::CheckDue, _) if view.rotate => Fixed::CheckRotate,
            (Card::Fitting, Some(FitStep::First)) => Fixed::FittingFirst,
            (Card::Fitting, Some(FitStep::InCheck)) => Fixed::FittingInCheck,
            (Card::FitPause, Some(FitStep::First)) => Fixed::FitPauseFirst,
            _ => return self.word("card", view.card.word()),
        };
        self.fixed(own).to_owned()
    }

    fn keys(&self, card: Card, acts: &[Act]) -> Vec<Key> {
        acts.iter()
            .map(|act| Key {
                act: *act,
                label: self.label(card, *act),
            })
            .collect()
    }

    /// With the pack out, the way on without the device has its own name.
    fn label(&self, card: Card, act: Act) -> String {
        if act == Act::HandsOn && matches!(card, Card::Power | Card::PowerLate) {
            self.fixed(Fixed::HandsInstead).to_owned()
        } else {
            self.word("act", act.word())
        }
    }

    fn banners(&self, view: &View, house: &[Banner]) -> Vec<BannerLine> {
        let mut banners: Vec<Banner> = house.iter().chain(&view.banners).copied().collect();
        banners.sort_unstable();
        banners.dedup();
        banners
            .into_iter()
            .map(|banner| BannerLine {
                banner,
                text: self.word("banner", banner.word()),
            })
            .collect()
    }
}

fn figure_label(view: &View) -> Fixed {
    match view.figure {
        Figure::Count => Fixed::FigureCount,
        Figure::Down { .. } => Fixed::FigureUntil,
        Figure::Up { .. } if view.state == StateWord::HandsOff => Fixed::FigureOff,
        Figure::Up { .. } | Figure::None => Fixed::FigureSince,
    }
}

#[cfg(test)]
mod tests;
