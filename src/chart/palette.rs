//! Colours: distinct in hue for most kinds of colour vision and in lightness for grey print; marks
//! that must be told apart differ in shape or dash as well.

/// Red, green, blue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Colour(pub u8, pub u8, pub u8);

pub(super) const PAPER: Colour = Colour(255, 255, 255);
pub(super) const INK: Colour = Colour(0x1d, 0x27, 0x2b);
pub(super) const SOFT: Colour = Colour(0x58, 0x64, 0x69);
pub(super) const GRID: Colour = Colour(0xde, 0xe3, 0xe5);
pub(super) const BAND: Colour = Colour(0xf3, 0xf5, 0xf6);
/// Estimates of groups.
pub(super) const ESTIMATE: Colour = Colour(0x15, 0x5a, 0x86);
/// Everybody's estimate.
pub(super) const EVERYBODY: Colour = Colour(0x0b, 0x7a, 0x5f);
/// The threshold that is judged.
pub(super) const THRESHOLD: Colour = Colour(0xbf, 0x4a, 0x14);
/// Series of one chart, in order.
pub(super) const SERIES: &[Colour] = &[
    ESTIMATE,
    Colour(0xd0, 0x6a, 0x1e),
    Colour(0x10, 0x8a, 0x6c),
    Colour(0x84, 0x46, 0x93),
    Colour(0x96, 0x7a, 0x0c),
    Colour(0x45, 0x50, 0x56),
];

/// Steps of the heat map from 0 to 100 %, light to dark, even in lightness.
pub(super) const HEAT: &[Colour] = &[
    Colour(0xf6, 0xf4, 0xe4),
    Colour(0xdb, 0xe6, 0xc3),
    Colour(0xb2, 0xd2, 0xb4),
    Colour(0x82, 0xb9, 0xae),
    Colour(0x55, 0x9c, 0xa8),
    Colour(0x34, 0x7c, 0x9b),
    Colour(0x22, 0x5b, 0x85),
    Colour(0x1a, 0x3a, 0x66),
];
/// First step on which light text has more contrast than dark text.
const FIRST_DARK: usize = 5;
/// Text on light and on dark cells of the heat map.
pub(super) const ON_LIGHT: Colour = Colour(0x10, 0x18, 0x1c);
pub(super) const ON_DARK: Colour = Colour(0xfd, 0xfd, 0xfd);

/// One colour of the charts and what a page with a dark background shows in its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Swap {
    pub light: &'static str,
    pub dark: &'static str,
}

/// How the report repaints its charts on a dark background. The heat map keeps its colours.
pub const DARK: &[Swap] = &[
    Swap { light: "#FFFFFF", dark: "#151b1e" },
    Swap { light: "#1D272B", dark: "#e6ecee" },
    Swap { light: "#586469", dark: "#a6b2b7" },
    Swap { light: "#DEE3E5", dark: "#333e43" },
    Swap { light: "#F3F5F6", dark: "#1d2529" },
    Swap { light: "#155A86", dark: "#6db6e6" },
    Swap { light: "#0B7A5F", dark: "#4fcba6" },
    Swap { light: "#BF4A14", dark: "#f58b57" },
    Swap { light: "#D06A1E", dark: "#f0a05c" },
    Swap { light: "#108A6C", dark: "#5fd0b0" },
    Swap { light: "#844693", dark: "#c893d6" },
    Swap { light: "#967A0C", dark: "#d9bd55" },
    Swap { light: "#455056", dark: "#b9c4c9" },
];

/// Colour of a percentile between 0 and 100, and the colour of text on it.
pub(super) fn heat(percent: f64) -> (Colour, Colour) {
    let steps = HEAT.len();
    let step = ((percent / 100.0 * steps as f64) as usize).min(steps - 1);
    (HEAT[step], if step >= FIRST_DARK { ON_DARK } else { ON_LIGHT })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_colour_of_a_chart_has_a_counterpart_on_a_dark_page() {
        let used = [PAPER, INK, SOFT, GRID, BAND, ESTIMATE, EVERYBODY, THRESHOLD];
        for Colour(r, g, b) in used.iter().chain(SERIES) {
            let hex = format!("#{r:02X}{g:02X}{b:02X}");
            assert_eq!(DARK.iter().filter(|swap| swap.light == hex).count(), 1, "{hex}");
        }
    }
}
