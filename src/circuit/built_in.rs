//! The wirings that come with the program.

/// Returns the file name and text of every wiring that comes with the program, in the order of their codes.
pub fn built_in() -> &'static [(&'static str, &'static str)] {
    &[
        ("one-pickup.ron", include_str!("../../assets/wirings/one-pickup.ron")),
        ("one-pickup-output-tone.ron", include_str!("../../assets/wirings/one-pickup-output-tone.ron")),
        ("two-humbuckers.ron", include_str!("../../assets/wirings/two-humbuckers.ron")),
        (
            "two-humbuckers-output-tone.ron",
            include_str!("../../assets/wirings/two-humbuckers-output-tone.ron"),
        ),
        (
            "two-humbuckers-independent.ron",
            include_str!("../../assets/wirings/two-humbuckers-independent.ron"),
        ),
        (
            "two-humbuckers-independent-output-tone.ron",
            include_str!("../../assets/wirings/two-humbuckers-independent-output-tone.ron"),
        ),
        ("two-single-coils.ron", include_str!("../../assets/wirings/two-single-coils.ron")),
        ("three-single-coils.ron", include_str!("../../assets/wirings/three-single-coils.ron")),
        (
            "humbucker-and-two-single-coils.ron",
            include_str!("../../assets/wirings/humbucker-and-two-single-coils.ron"),
        ),
        ("bass-two-volumes.ron", include_str!("../../assets/wirings/bass-two-volumes.ron")),
        (
            "bass-two-independent-volumes.ron",
            include_str!("../../assets/wirings/bass-two-independent-volumes.ron"),
        ),
        ("bass-split-coil.ron", include_str!("../../assets/wirings/bass-split-coil.ron")),
        (
            "active-volume-after-preamp.ron",
            include_str!("../../assets/wirings/active-volume-after-preamp.ron"),
        ),
        (
            "active-volume-before-preamp.ron",
            include_str!("../../assets/wirings/active-volume-before-preamp.ron"),
        ),
        ("series-split-parallel.ron", include_str!("../../assets/wirings/series-split-parallel.ron")),
        ("two-pickups-in-series.ron", include_str!("../../assets/wirings/two-pickups-in-series.ron")),
        ("piezo-with-preamp.ron", include_str!("../../assets/wirings/piezo-with-preamp.ron")),
        ("piezo-to-jack.ron", include_str!("../../assets/wirings/piezo-to-jack.ron")),
        ("shorting-kill-switch.ron", include_str!("../../assets/wirings/shorting-kill-switch.ron")),
        ("breaking-kill-switch.ron", include_str!("../../assets/wirings/breaking-kill-switch.ron")),
        ("treble-bleed-capacitor.ron", include_str!("../../assets/wirings/treble-bleed-capacitor.ron")),
        ("treble-bleed-parallel.ron", include_str!("../../assets/wirings/treble-bleed-parallel.ron")),
        ("treble-bleed-series.ron", include_str!("../../assets/wirings/treble-bleed-series.ron")),
        ("blend-open-lugs.ron", include_str!("../../assets/wirings/blend-open-lugs.ron")),
        ("blend-grounded-lugs.ron", include_str!("../../assets/wirings/blend-grounded-lugs.ron")),
        ("one-humbucker-volume.ron", include_str!("../../assets/wirings/one-humbucker-volume.ron")),
        ("one-pickup-direct.ron", include_str!("../../assets/wirings/one-pickup-direct.ron")),
    ]
}
