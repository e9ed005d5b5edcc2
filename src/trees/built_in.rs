//! The trees that come with the program.

/// Returns the file name and the text of every tree that comes with the program.
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    &[
        ("silent.ron", include_str!("../../trees/silent.ron")),
        ("intermittent.ron", include_str!("../../trees/intermittent.ron")),
        ("muffled.ron", include_str!("../../trees/muffled.ron")),
        ("hum.ron", include_str!("../../trees/hum.ron")),
    ]
}
