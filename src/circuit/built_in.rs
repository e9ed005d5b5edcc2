//! The wirings that come with the program.

/// Returns the file name and text of every wiring that comes with the program, in the order of their names.
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    &[
        ("one-pickup.ron", include_str!("../../assets/wirings/one-pickup.ron")),
        ("two-single-coils.ron", include_str!("../../assets/wirings/two-single-coils.ron")),
        ("two-humbuckers.ron", include_str!("../../assets/wirings/two-humbuckers.ron")),
    ]
}
