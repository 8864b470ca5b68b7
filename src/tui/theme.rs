//! The styles. Default foreground and background stay as the terminal has them, so that light and dark
//! both work; what a style says, a word or a pattern says too.

use ratatui::style::{Color, Modifier, Style};

use crate::app::view::PotPhase;
use crate::engine::cure::Phase;

/// How the board is coloured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ColorMode {
    /// In the colours of the terminal.
    #[default]
    Auto,
    /// Bold, dim and reversed, but no colour.
    None,
    /// Neither colour nor dim: for sunlight and tired eyes.
    Contrast,
}

/// The styles of the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    color: bool,
    dim: bool,
    ascii: bool,
}

impl Theme {
    /// The styles of a mode.
    pub const fn new(mode: ColorMode) -> Self {
        match mode {
            ColorMode::Auto => Self { color: true, dim: true, ascii: false },
            ColorMode::None => Self { color: false, dim: true, ascii: false },
            ColorMode::Contrast => Self { color: false, dim: false, ascii: false },
        }
    }

    /// The same on a terminal that shows nothing but ASCII.
    pub const fn in_ascii(self, ascii: bool) -> Self {
        Self { ascii, ..self }
    }

    /// Whether the terminal shows nothing but ASCII.
    pub const fn ascii(self) -> bool {
        self.ascii
    }

    fn colored(self, style: Style, color: Color) -> Style {
        if self.color { style.fg(color) } else { style }
    }

    /// A line of a plot, which has a letter too.
    pub fn tinted(self, color: Color) -> Style {
        self.colored(Style::new(), color)
    }

    /// Running text.
    pub const fn plain(self) -> Style {
        Style::new()
    }

    /// What is to be seen first.
    pub const fn strong(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// What stands in the background.
    pub const fn quiet(self) -> Style {
        if self.dim { Style::new().add_modifier(Modifier::DIM) } else { Style::new() }
    }

    /// What wants to be acted on.
    pub const fn alarm(self) -> Style {
        Style::new().add_modifier(Modifier::REVERSED).add_modifier(Modifier::BOLD)
    }

    /// The mark of a last call.
    pub fn call(self) -> Style {
        self.phase(Phase::Open)
    }

    /// The bar beside what is chosen.
    pub fn chosen(self) -> Style {
        self.colored(self.strong(), Color::Cyan)
    }

    /// A key that can be pressed. Letters that are to be read have no colour: what is bright on a dark screen
    /// is faint on a light one.
    pub const fn key(self) -> Style {
        self.strong()
    }

    /// The field that is being filled in.
    pub const fn field(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD).add_modifier(Modifier::UNDERLINED)
    }

    /// The pattern of a phase.
    pub fn phase(self, phase: Phase) -> Style {
        match phase {
            Phase::Wet => self.colored(Style::new(), Color::Blue),
            Phase::Open => self.colored(self.strong(), Color::Yellow),
            Phase::Shut => Style::new(),
            Phase::Sandable => self.colored(Style::new(), Color::Cyan),
            Phase::Cured => self.quiet(),
        }
    }
}

/// The character that a phase is drawn with; each has its own, so that no colour is needed.
pub const fn pattern(phase: Phase, applying: bool) -> char {
    match phase {
        _ if applying => '>',
        Phase::Wet => '~',
        Phase::Open => '═',
        Phase::Shut => '·',
        Phase::Sandable => '░',
        Phase::Cured => '─',
    }
}

/// The character that a stretch of a batch is drawn with.
pub const fn pot_pattern(phase: PotPhase) -> char {
    match phase {
        PotPhase::Induction => ':',
        PotPhase::Usable | PotPhase::Perhaps => '▒',
        PotPhase::Over => 'x',
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PHASES: [Phase; 5] = [Phase::Wet, Phase::Open, Phase::Shut, Phase::Sandable, Phase::Cured];

    #[test]
    fn without_colour_there_is_none_anywhere() {
        for theme in [Theme::new(ColorMode::None), Theme::new(ColorMode::Contrast)] {
            let styles = PHASES.map(|phase| theme.phase(phase));
            for style in
                styles.into_iter().chain([theme.call(), theme.chosen(), theme.alarm(), theme.field()])
            {
                assert_eq!((style.fg, style.bg), (None, None));
            }
        }
        let contrast = Theme::new(ColorMode::Contrast);
        assert!(!contrast.quiet().add_modifier.contains(Modifier::DIM));
    }

    #[test]
    fn the_background_is_never_touched() {
        let theme = Theme::new(ColorMode::Auto);
        for phase in PHASES {
            assert_eq!(theme.phase(phase).bg, None);
            let color = theme.phase(phase).fg;
            let readable_on_both = [None, Some(Color::Blue), Some(Color::Yellow), Some(Color::Cyan)];
            assert!(readable_on_both.contains(&color), "{color:?}");
        }
    }

    #[test]
    fn every_phase_has_its_own_pattern() {
        let mut patterns = PHASES.map(|phase| pattern(phase, false)).to_vec();
        patterns.push(pattern(Phase::Wet, true));
        patterns.sort_unstable();
        patterns.dedup();
        assert_eq!(patterns.len(), PHASES.len() + 1);
    }
}
