//! How the rows of the screen are shared among the areas.

/// What an area would like, in rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wish {
    /// With its sentences.
    pub says: u16,
    /// With what they rest on too.
    pub core: u16,
    /// With all that there is to say.
    pub all: u16,
}

/// What it gets.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shares {
    /// The first area that is shown; those before it are scrolled away.
    pub first: usize,
    /// The rows of each area from there on.
    pub rows: Vec<u16>,
    /// The blank rows between them.
    pub gap: u16,
    /// Whether there is a row for the flags over every ribbon.
    pub flags: bool,
}

/// A name and a ribbon; and with one line of what is said.
const SHORT: u16 = 2;
const SPOKEN: u16 = 3;

/// Shares `rows` among areas. The one in focus is served first; then every area gets a line of its
/// sentences; then there is a gap between them; then the rest goes round.
pub fn share(wishes: &[Wish], focus: usize, rows: u16) -> Shares {
    let count = u16::try_from(wishes.len()).unwrap_or(u16::MAX);
    let mut shares = Shares { first: 0, rows: Vec::new(), gap: 0, flags: false };
    if count == 0 || rows == 0 {
        return shares;
    }
    if count > rows {
        let shown = usize::from(rows);
        shares.first = (focus + 1).saturating_sub(shown.div_ceil(2)).min(wishes.len() - shown);
        shares.rows = vec![1; shown];
        return shares;
    }
    let base = if rows / count >= SHORT { SHORT } else { 1 };
    shares.rows = vec![base; wishes.len()];
    let mut left = rows - base * count;
    let focus = focus.min(wishes.len() - 1);
    give(&mut shares.rows[focus], wishes[focus].core, &mut left);
    go_round(&mut shares.rows, &mut left, |index| wishes[index].says.min(SPOKEN));
    if base >= SHORT && left >= count - 1 {
        shares.gap = 1;
        left -= count - 1;
    }
    go_round(&mut shares.rows, &mut left, |index| wishes[index].says);
    give(&mut shares.rows[focus], wishes[focus].all, &mut left);
    go_round(&mut shares.rows, &mut left, |index| wishes[index].core);
    go_round(&mut shares.rows, &mut left, |index| wishes[index].all);
    if left >= count && base >= SHORT {
        shares.flags = true;
        shares.rows.iter_mut().for_each(|share| *share += 1);
    }
    shares
}

fn give(share: &mut u16, wish: u16, left: &mut u16) {
    let more = wish.saturating_sub(*share).min(*left);
    *share += more;
    *left -= more;
}

/// A row for each in turn, until nothing is left or nobody wishes for more.
fn go_round(shares: &mut [u16], left: &mut u16, wish: impl Fn(usize) -> u16) {
    let mut served = true;
    while served {
        served = false;
        for (index, share) in shares.iter_mut().enumerate() {
            if *left > 0 && *share < wish(index) {
                *share += 1;
                *left -= 1;
                served = true;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wishes(all: &[u16]) -> Vec<Wish> {
        all.iter().map(|all| Wish { says: all - 2, core: all - 1, all: *all }).collect()
    }

    fn total(shares: &Shares) -> u16 {
        shares.rows.iter().sum::<u16>() + shares.gap * (shares.rows.len() as u16).saturating_sub(1)
    }

    #[test]
    fn the_one_in_focus_has_all_it_wants_first() {
        let rows = |rows| share(&wishes(&[6, 6, 6]), 1, rows).rows;
        assert_eq!(rows(8), [2, 4, 2]);
        assert_eq!(rows(10), [3, 5, 2]);
        assert_eq!(rows(11), [3, 5, 3]);
    }

    #[test]
    fn a_gap_comes_before_second_lines() {
        let shares = share(&wishes(&[6, 6, 6]), 1, 14);
        assert_eq!((shares.rows.as_slice(), shares.gap), ([4, 5, 3].as_slice(), 1));
    }

    #[test]
    fn what_is_left_goes_round_and_then_into_flags() {
        let shares = share(&wishes(&[6, 6, 6]), 0, 20);
        assert_eq!((shares.rows.as_slice(), shares.gap), ([6, 6, 6].as_slice(), 1));
        let shares = share(&wishes(&[6, 6, 6]), 0, 40);
        assert_eq!((shares.rows.as_slice(), shares.flags), ([7, 7, 7].as_slice(), true));
    }

    #[test]
    fn many_areas_scroll_with_the_one_in_focus_in_sight() {
        for focus in 0..40 {
            let shares = share(&wishes(&[6; 40]), focus, 10);
            assert!((shares.first..shares.first + 10).contains(&focus), "{focus}");
        }
    }

    #[test]
    fn never_more_rows_than_there_are() {
        for count in 0..20 {
            for rows in 0..60 {
                for focus in [0, count / 2, count] {
                    let shares = share(&wishes(&vec![7; count]), focus, rows);
                    assert!(total(&shares) <= rows, "{count} areas, {rows} rows: {shares:?}");
                }
            }
        }
    }
}
