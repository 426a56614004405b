//! Words of a command that is to be copied into a shell.

/// A word as the shell reads it back.
pub(super) fn quoted(word: &str) -> String {
    // A backslash parts folders on one system, and on others hides the sign after it.
    let plain = |c: char| c.is_alphanumeric() || "-_./=%:+".contains(c) || (cfg!(windows) && c == '\\');
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    format!("'{}'", word.replace('\'', "'\\''"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_shell_would_read_as_its_own_is_quoted() {
        assert_eq!(quoted("pipelines/demo.toml"), "pipelines/demo.toml");
        assert_eq!(quoted("101 mg/dL"), "'101 mg/dL'");
        assert_eq!(quoted("$HOME/`a`\".toml"), "'$HOME/`a`\".toml'");
        assert_eq!(quoted("it's"), "'it'\\''s'");
        assert_eq!(quoted(""), "''");
    }
}
