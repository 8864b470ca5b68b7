//! How the rows of the screen are shared among the areas.

/// What an area would like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wish {
    /// The rows for all that there is to say.
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

/// A name and a ribbon.
const SHORT: u16 = 2;

/// Shares `rows` among areas; the one in focus is served first, then a gap, then the others by turns.
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
    let more = wishes[focus].all.saturating_sub(base).min(left);
    shares.rows[focus] += more;
    left -= more;
    if base >= SHORT && left >= count - 1 {
        shares.gap = 1;
        left -= count - 1;
    }
    let mut served = true;
    while left > 0 && served {
        served = false;
        for (share, wish) in shares.rows.iter_mut().zip(wishes) {
            if left > 0 && *share < wish.all {
                *share += 1;
                left -= 1;
                served = true;
            }
        }
    }
    if left >= count && base >= SHORT {
        shares.flags = true;
        shares.rows.iter_mut().for_each(|share| *share += 1);
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wishes(all: &[u16]) -> Vec<Wish> {
        all.iter().map(|all| Wish { all: *all }).collect()
    }

    fn total(shares: &Shares) -> u16 {
        shares.rows.iter().sum::<u16>() + shares.gap * (shares.rows.len() as u16).saturating_sub(1)
    }

    #[test]
    fn the_one_in_focus_has_all_it_wants_first() {
        let shares = share(&wishes(&[6, 6, 6]), 1, 12);
        assert_eq!(shares.rows, [2, 6, 2]);
        assert_eq!((shares.gap, shares.flags), (1, false));
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
