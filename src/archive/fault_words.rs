//! What a fault's id says by itself, so that old jobs are counted without the circuit.

/// How something that has a name between noun and end can end.
const ENDS: [&str; 5] = ["high resistance", "stuck closed", "intermittent", "dirty", "open"];

/// Returns where a fault is: the terminal, part or conductor in its id.
pub(super) fn place(id: &str) -> String {
    id.split_once('/').map_or(id, |(place, _)| place).to_owned()
}

/// Returns how something fails, without any name of one wiring, such as `joint intermittent`.
pub(super) fn kind(id: &str) -> String {
    if id.contains(" + ") {
        return "two faults at once".to_owned();
    }
    let what = id.split_once('/').map_or(id, |(_, what)| what);
    let end = || ENDS.iter().find(|end| what.ends_with(*end)).copied().unwrap_or_default();
    let noun = what.split(' ').next().unwrap_or_default();
    match noun {
        "short" | "leak" => noun.to_owned(),
        "exchanged" => "lugs exchanged".to_owned(),
        "intermittent" => "short intermittent".to_owned(),
        "joint" | "contact" => format!("{noun} {}", end()),
        "track" => "track open".to_owned(),
        _ if what.ends_with(" on the wrong lug") => "wire on the wrong lug".to_owned(),
        _ if what.contains(" spring ") => format!("spring {}", end()),
        _ => what.to_owned(),
    }
}

/// Returns the sort of thing that fails, from what [`kind`] says.
pub(super) fn family(kind: &str) -> &'static str {
    if kind.contains("exchanged") || kind.contains("wrong lug") || kind == "battery reversed" {
        return "wiring mistake";
    }
    match kind.split(' ').next().unwrap_or_default() {
        "joint" => "joint",
        "wire" | "braid" | "leg" | "lug" => "conductor",
        "short" | "leak" => "short or leak",
        "coil" => "pickup",
        "track" | "wiper" | "wrong" => "pot",
        "capacitor" => "capacitor",
        "contact" | "spring" => "contact",
        "resistor" => "resistor",
        "battery" | "preamp" | "supply" => "battery and preamp",
        "piezo" => "piezo element",
        "nothing" => "nothing wrong",
        "two" => "two faults at once",
        _ => "other",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case("jack.sleeve/joint jack-ground intermittent", "jack.sleeve", "joint intermittent", "joint")]
    #[case("jack.tip/joint open", "jack.tip", "joint open", "joint")]
    #[case("jack.tip/joint high resistance", "jack.tip", "joint high resistance", "joint")]
    #[case("jack-ground/wire broken", "jack-ground", "wire broken", "conductor")]
    #[case("jack.ring/short to jack.sleeve", "jack.ring", "short", "short or leak")]
    #[case(
        "jack.tip/intermittent short to shield.surface",
        "jack.tip",
        "short intermittent",
        "short or leak"
    )]
    #[case("selector.neck/leak to neck-screen.surface", "selector.neck", "leak", "short or leak")]
    #[case("tone.lug1/exchanged with lug3", "tone.lug1", "lugs exchanged", "wiring mistake")]
    #[case("tone.lug1/tone-wire on the wrong lug", "tone.lug1", "wire on the wrong lug", "wiring mistake")]
    #[case("jack/tip spring dirty", "jack", "spring dirty", "contact")]
    #[case("selector/contact neck-common stuck closed", "selector", "contact stuck closed", "contact")]
    #[case("volume/track open at lug 3", "volume", "track open", "pot")]
    #[case("pickup/coil half shorted", "pickup", "coil half shorted", "pickup")]
    #[case("instrument/not in the catalogue", "instrument", "not in the catalogue", "other")]
    #[case("a/coil open + b/coil open", "a", "two faults at once", "two faults at once")]
    #[case("", "", "", "other")]
    fn an_id_says_place_kind_and_family(
        #[case] id: &str,
        #[case] at: &str,
        #[case] how: &str,
        #[case] sort: &str,
    ) {
        assert_eq!((place(id).as_str(), kind(id).as_str(), family(&kind(id))), (at, how, sort));
    }
}
