//! What became of a wish that nobody waits for. No call of the system is made here, so that it is tested on any machine.

use std::{sync::mpsc::Receiver, time::Duration};

/// Waits for the answer, and says why it was no.
pub(crate) fn say_if_refused(
    answer: &Receiver<Result<(), String>>,
    within: Duration,
    say: &dyn Fn(&str),
) {
    let said = answer.recv_timeout(within).unwrap_or_else(|_| {
        Err("the phone does not answer; open the app again and try once more".to_owned())
    });
    if let Err(why) = said {
        say(&format!("nothing was handed over: {why}"));
    }
}

#[cfg(test)]
mod tests {
    use std::{
        cell::RefCell,
        sync::mpsc::{self, Sender},
    };

    use super::*;

    const SOON: Duration = Duration::from_millis(50);

    fn said(answer: impl FnOnce(Sender<Result<(), String>>)) -> Vec<String> {
        let (to, from) = mpsc::channel();
        answer(to);
        let said = RefCell::new(Vec::new());
        say_if_refused(&from, SOON, &|why| said.borrow_mut().push(why.to_owned()));
        said.into_inner()
    }

    #[test]
    fn a_refusal_is_said_with_its_remedy_and_what_went_well_is_not() {
        assert_eq!(said(|to| to.send(Ok(())).unwrap()), Vec::<String>::new());
        let why = "no screen of the app is there to share from; open the app and try again";
        let refused = said(|to| to.send(Err(why.to_owned())).unwrap());
        assert_eq!(refused, [format!("nothing was handed over: {why}")]);
    }

    /// Without an activity the task ends and nobody answers; a main thread that is stuck answers too late.
    #[test]
    fn an_answer_that_does_not_come_is_said_as_well() {
        let silent = "nothing was handed over: the phone does not answer; open the app again and try once more";
        assert_eq!(said(drop), [silent]);
        let (to, from) = mpsc::channel::<Result<(), String>>();
        let count = RefCell::new(0_u8);
        say_if_refused(&from, SOON, &|_| *count.borrow_mut() += 1);
        assert_eq!(count.into_inner(), 1);
        drop(to);
    }
}
