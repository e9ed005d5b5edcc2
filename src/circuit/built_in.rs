//! The wirings that come with the program.

/// Returns the file name and text of every wiring that comes with the program, in the order of their names.
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    &[
        ("one-pickup.ron", include_str!("../../assets/wirings/one-pickup.ron")),
        ("two-single-coils.ron", include_str!("../../assets/wirings/two-single-coils.ron")),
        ("two-humbuckers.ron", include_str!("../../assets/wirings/two-humbuckers.ron")),
        (
            "active-volume-after-preamp.ron",
            include_str!("../../assets/wirings/active-volume-after-preamp.ron"),
        ),
        (
            "active-volume-before-preamp.ron",
            include_str!("../../assets/wirings/active-volume-before-preamp.ron"),
        ),
        ("piezo-with-preamp.ron", include_str!("../../assets/wirings/piezo-with-preamp.ron")),
        ("piezo-to-jack.ron", include_str!("../../assets/wirings/piezo-to-jack.ron")),
        ("shorting-kill-switch.ron", include_str!("../../assets/wirings/shorting-kill-switch.ron")),
        ("breaking-kill-switch.ron", include_str!("../../assets/wirings/breaking-kill-switch.ron")),
        ("treble-bleed-capacitor.ron", include_str!("../../assets/wirings/treble-bleed-capacitor.ron")),
        ("treble-bleed-parallel.ron", include_str!("../../assets/wirings/treble-bleed-parallel.ron")),
        ("treble-bleed-series.ron", include_str!("../../assets/wirings/treble-bleed-series.ron")),
        ("blend-open-lugs.ron", include_str!("../../assets/wirings/blend-open-lugs.ron")),
        ("blend-grounded-lugs.ron", include_str!("../../assets/wirings/blend-grounded-lugs.ron")),
    ]
}
