//! Folders that change places together or not at all.

use std::fs;
use std::io;
use std::path::PathBuf;

/// A folder that is to be renamed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Move {
    pub from: PathBuf,
    pub to: PathBuf,
}

/// Why folders did not change places.
#[derive(Debug)]
pub(super) enum SwapError {
    /// Everything is where it was.
    Undone(io::Error),
    /// What had been moved could not be moved back.
    Stuck(io::Error),
}

/// Makes every move in turn; where one fails, takes back those before it.
pub(super) fn swap(moves: &[Move]) -> Result<(), SwapError> {
    for (made, next) in moves.iter().enumerate() {
        if let Err(cause) = fs::rename(&next.from, &next.to) {
            let back = moves[..made].iter().rev().map(|one| fs::rename(&one.to, &one.from));
            let failed = back.filter(Result::is_err).count();
            return Err(if failed == 0 { SwapError::Undone(cause) } else { SwapError::Stuck(cause) });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Moves by single letters, in a folder with files of the names a and b.
    fn swapped(moves: &[(&str, &str)]) -> (Result<(), SwapError>, Vec<String>) {
        let folder = tempfile::tempdir().unwrap();
        for name in ["a", "b"] {
            fs::write(folder.path().join(name), name).unwrap();
        }
        let at = |name: &str| folder.path().join(name);
        let moves: Vec<Move> = moves.iter().map(|(from, to)| Move { from: at(from), to: at(to) }).collect();
        let done = swap(&moves);
        let content = |name: &str| Some(name.to_owned() + &fs::read_to_string(at(name)).ok()?);
        (done, ["a", "b", "c", "d"].into_iter().filter_map(content).collect())
    }

    #[test]
    fn moves_are_made_all_or_none() {
        let (done, found) = swapped(&[("b", "c"), ("a", "b"), ("c", "d")]);
        assert!(done.is_ok() && found == ["ba", "db"], "{done:?} {found:?}");
        let (undone, found) = swapped(&[("b", "c"), ("a", "b"), ("missing", "d")]);
        assert!(matches!(undone, Err(SwapError::Undone(_))), "{undone:?}");
        assert_eq!(found, ["aa", "bb"]);
    }

    #[test]
    fn what_cannot_be_moved_back_is_told_apart() {
        let (stuck, found) = swapped(&[("a", "c"), ("b", "c"), ("missing", "d")]);
        assert!(matches!(stuck, Err(SwapError::Stuck(_))), "{stuck:?}");
        assert_eq!(found, ["bb"]);
    }
}
