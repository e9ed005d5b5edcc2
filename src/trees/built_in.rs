//! The trees that come with the program.

/// Returns the file name and the text of every tree that comes with the program.
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    &[
        ("silent.ron", include_str!("../../trees/silent.ron")),
        ("silent-battery.ron", include_str!("../../trees/silent-battery.ron")),
        ("silent-direct.ron", include_str!("../../trees/silent-direct.ron")),
        ("silent-piezo.ron", include_str!("../../trees/silent-piezo.ron")),
        ("intermittent.ron", include_str!("../../trees/intermittent.ron")),
        ("muffled.ron", include_str!("../../trees/muffled.ron")),
        ("hum.ron", include_str!("../../trees/hum.ron")),
        ("buzz-on-touch.ron", include_str!("../../trees/buzz-on-touch.ron")),
        ("weak.ron", include_str!("../../trees/weak.ron")),
        ("weak-battery.ron", include_str!("../../trees/weak-battery.ron")),
        ("weak-piezo.ron", include_str!("../../trees/weak-piezo.ron")),
        ("bright.ron", include_str!("../../trees/bright.ron")),
        ("thin.ron", include_str!("../../trees/thin.ron")),
        ("thin-piezo.ron", include_str!("../../trees/thin-piezo.ron")),
        ("one-position.ron", include_str!("../../trees/one-position.ron")),
        ("volume-open.ron", include_str!("../../trees/volume-open.ron")),
        ("tone-idle.ron", include_str!("../../trees/tone-idle.ron")),
        ("crackle.ron", include_str!("../../trees/crackle.ron")),
        ("battery-drains.ron", include_str!("../../trees/battery-drains.ron")),
        ("pops.ron", include_str!("../../trees/pops.ron")),
    ]
}
