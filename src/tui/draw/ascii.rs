//! The screen in the letters of ASCII, for terminals that show no others.

use ratatui::buffer::Buffer;

/// Writes every cell in ASCII, one character for one, so that nothing moves.
pub fn write(buf: &mut Buffer) {
    for cell in &mut buf.content {
        let mut letters = cell.symbol().chars();
        if let (Some(letter), None) = (letters.next(), letters.next()) {
            if !letter.is_ascii() {
                cell.set_char(nearest(letter));
            }
        } else if !cell.symbol().is_ascii() {
            cell.set_char('?');
        }
    }
}

/// What comes nearest to a letter. The patterns of the phases stay different from each other.
const fn nearest(letter: char) -> char {
    match letter {
        '│' => '|',
        '─' | '−' | '–' | '—' => '-',
        '═' => '=',
        '┬' | '┴' | '┼' => '+',
        '·' | '…' => '.',
        '░' => ':',
        '█' | '▌' => '#',
        '▼' | '↓' => 'v',
        '↑' => '^',
        '→' | '►' => '>',
        '←' | '◄' => '<',
        '°' => '\'',
        '×' => 'x',
        '±' => '~',
        '²' => '2',
        'µ' | 'μ' => 'u',
        'ä' | 'à' | 'á' | 'å' => 'a',
        'ö' | 'ó' | 'ø' => 'o',
        'ü' | 'ú' => 'u',
        'é' | 'è' | 'ê' => 'e',
        'ß' => 's',
        '\u{2800}' => ' ',
        '\u{2801}'..='\u{28ff}' => '*',
        _ => '?',
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::cure::Phase;
    use crate::tui::theme::pattern;

    #[test]
    fn every_phase_keeps_its_own_pattern() {
        let phases = [Phase::Wet, Phase::Open, Phase::Shut, Phase::Sandable, Phase::Cured];
        let mut patterns = phases.map(|phase| pattern(phase, false)).to_vec();
        patterns.push(pattern(Phase::Wet, true));
        let mut plain: Vec<char> =
            patterns.iter().map(|c| if c.is_ascii() { *c } else { nearest(*c) }).collect();
        plain.sort_unstable();
        plain.dedup();
        assert_eq!(plain.len(), patterns.len());
    }

    #[test]
    fn nothing_but_ascii_is_left_and_nothing_moves() {
        let mut buf = Buffer::with_lines(["Tür │ 17.5 °C ⡀…", "═══ 日本 ░"]);
        write(&mut buf);
        assert_eq!(buf.content[0].symbol(), "T");
        assert_eq!(buf, Buffer::with_lines(["Tur | 17.5 'C *.", "=== ? ?  :"]));
    }
}
