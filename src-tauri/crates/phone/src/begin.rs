//! Start from outside the app, where the system hands over an address.
//!
//! On iOS a crew lays `carrybeat:start` on a key of its own by the system's Shortcuts, also on the lock screen.

use conduct::PhoneNews;

/// The scheme that `Info.ios.plist` registers.
const SCHEME: &str = "carrybeat";
/// What the address asks for.
const START: &str = "start";

/// What an address that was opened asks for; `None` for any other than `carrybeat:start`.
///
/// Two slashes before the word and one behind it are taken as well: people and programs add them. Nothing
/// follows it: whoever can open an address must not be able to say more than "start".
#[must_use]
pub fn begin_of(url: &str) -> Option<PhoneNews> {
    let (scheme, rest) = url.split_once(':')?;
    let rest = rest.strip_prefix("//").unwrap_or(rest);
    let rest = rest.strip_suffix('/').unwrap_or(rest);
    let is_ours = scheme.eq_ignore_ascii_case(SCHEME) && rest.eq_ignore_ascii_case(START);
    // The system does not say when the finger went down.
    is_ours.then_some(PhoneNews::Begin {
        ago_ms: 0,
        by_key: false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_one_address_begins_a_run_however_it_is_dressed() {
        for url in [
            "carrybeat:start",
            "carrybeat://start",
            "carrybeat://start/",
            "Carrybeat:Start",
        ] {
            let begin = PhoneNews::Begin {
                ago_ms: 0,
                by_key: false,
            };
            assert_eq!(begin_of(url), Some(begin), "{url}");
        }
    }

    #[test]
    fn no_other_address_begins_anything() {
        for url in [
            "",
            ":",
            "start",
            "carrybeat",
            "carrybeat:",
            "carrybeat:stop",
            "carrybeat:start?class=child",
            "carrybeat:start#now",
            "carrybeat:///start",
            "carrybeat:start//",
            "carrybeat: start",
            "carrybeat2:start",
            "https://carrybeat/start",
            "file:carrybeat:start",
        ] {
            assert_eq!(begin_of(url), None, "{url}");
        }
    }
}
