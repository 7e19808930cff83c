//! Which numbers a run begins with.

use cycle::{ClipLengths, Protocol, ProtocolFault, Setup, mark::PatientClass};

/// The same files, with those of `class` in force. Where the service has none for it, the numbers at
/// hand stay, and the run is one of that class.
#[must_use]
pub fn of_class(mut setup: Setup, class: PatientClass) -> Setup {
    let found = setup.others.iter().position(|p| p.class == class);
    if let Some(other) = found.and_then(|at| setup.others.get_mut(at)) {
        std::mem::swap(other, &mut setup.protocol);
    }
    setup.class = class;
    setup
}

/// A built-in example in force, with those for the other classes beside it; `None`: no such example.
///
/// # Errors
/// The faults of a built-in file; a test keeps them from having any.
pub fn of_example(id: &str, clips: ClipLengths) -> Option<Result<Setup, Vec<ProtocolFault>>> {
    let text = Protocol::example(id)?;
    let made = Protocol::parse(text.as_bytes()).and_then(|protocol| {
        Ok(Setup {
            class: protocol.class,
            others: protocol.examples_beside()?,
            clips,
            protocol,
        })
    });
    Some(made)
}

#[cfg(test)]
mod tests {
    use cycle::Prompt;

    use super::*;

    fn clips() -> ClipLengths {
        ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap()
    }

    #[test]
    fn every_example_can_be_in_force_and_every_class_be_chosen() {
        for (id, _) in Protocol::EXAMPLES {
            let setup = of_example(id, clips()).unwrap().unwrap();
            assert_eq!(setup.protocol.id, *id);
            for class in PatientClass::ALL {
                let turned = of_class(setup.clone(), *class);
                assert_eq!((turned.class, turned.protocol.class), (*class, *class));
                assert_eq!(turned.others.len(), setup.others.len(), "none is lost");
                let back = of_class(turned, setup.class);
                assert_eq!(back.protocol, setup.protocol);
            }
        }
        assert!(of_example("another", clips()).is_none());
    }

    #[test]
    fn a_class_without_a_file_keeps_the_numbers_at_hand() {
        let mut setup = of_example("example-adult", clips()).unwrap().unwrap();
        setup.others.clear();
        let turned = of_class(setup.clone(), PatientClass::Child);
        assert_eq!(turned.class, PatientClass::Child);
        assert_eq!(turned.protocol, setup.protocol);
    }
}
