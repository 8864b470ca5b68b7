//! Digits that can be read across the shop.

/// A sign is three columns by five rows, the narrow ones less.
const SIGNS: [(char, [&str; 5]); 13] = [
    ('0', ["###", "# #", "# #", "# #", "###"]),
    ('1', [" # ", "## ", " # ", " # ", "###"]),
    ('2', ["###", "  #", "###", "#  ", "###"]),
    ('3', ["###", "  #", "###", "  #", "###"]),
    ('4', ["# #", "# #", "###", "  #", "  #"]),
    ('5', ["###", "#  ", "###", "  #", "###"]),
    ('6', ["###", "#  ", "###", "# #", "###"]),
    ('7', ["###", "  #", "  #", "  #", "  #"]),
    ('8', ["###", "# #", "###", "# #", "###"]),
    ('9', ["###", "# #", "###", "  #", "###"]),
    (':', [" ", "#", " ", "#", " "]),
    ('d', ["  #", "  #", "###", "# #", "###"]),
    (' ', [" ", " ", " ", " ", " "]),
];

/// The rows of a sign at its smallest.
pub const ROWS: u16 = 5;

fn sign(letter: char) -> Option<&'static [&'static str; 5]> {
    SIGNS.iter().find(|(known, _)| *known == letter).map(|(_, rows)| rows)
}

/// The text as large as columns and rows allow, in lines of full blocks. None if it does not fit, or a letter
/// has no glyph.
pub fn large(text: &str, columns: u16, rows: u16) -> Option<Vec<String>> {
    let signs: Vec<_> = text.chars().map(sign).collect::<Option<_>>()?;
    let units: usize = signs.iter().map(|rows| rows[0].len() + 1).sum::<usize>().checked_sub(1)?;
    let across = usize::from(columns) / units;
    // Cells are twice as high as wide; higher than that a digit would look stretched.
    let down = usize::from(rows / ROWS).min(across);
    if across == 0 || down == 0 {
        return None;
    }
    let line = |row: usize| {
        let parts: Vec<String> = signs.iter().map(|sign| scaled(sign[row], across)).collect();
        parts.join(&" ".repeat(across))
    };
    Some((0..usize::from(ROWS)).flat_map(|row| std::iter::repeat_n(line(row), down)).collect())
}

fn scaled(row: &str, across: usize) -> String {
    row.chars().flat_map(|dot| std::iter::repeat_n(if dot == '#' { '█' } else { ' ' }, across)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_fill_the_room_they_have() {
        assert_eq!(
            large("1:2", 9, 5).unwrap(),
            [" █    ███", "██  █   █", " █    ███", " █  █ █  ", "███   ███"]
        );
        let large = large("0:35:12", 80, 18).unwrap();
        assert_eq!((large.len(), large[0].chars().count()), (15, 69));
    }

    #[test]
    fn what_has_no_room_or_no_sign_is_not_drawn() {
        assert_eq!(large("0:35:12", 22, 20), None);
        assert_eq!(large("0:35:12", 80, 4), None);
        assert_eq!(large("soon", 80, 20), None);
        assert_eq!(large("", 80, 20), None);
    }
}
