//! Text that older programs write where Western European languages are spoken: one byte a letter, Windows-1252.

use encoding_rs::WINDOWS_1252;

/// Bytes that stand for nothing in Windows-1252.
const UNUSED: [u8; 5] = [0x81, 0x8d, 0x8f, 0x90, 0x9d];

/// The same text as UTF-8. What is UTF-8 already stays as it is: text in single bytes that looks like it is not written.
/// Otherwise the line of a byte that stands for nothing.
pub(super) fn as_utf8(bytes: Vec<u8>) -> Result<Vec<u8>, usize> {
    if std::str::from_utf8(&bytes).is_ok() {
        return Ok(bytes);
    }
    match bytes.iter().position(|byte| UNUSED.contains(byte)) {
        Some(place) => Err(bytes[..place].split(|byte| *byte == b'\n').count()),
        None => Ok(WINDOWS_1252.decode_without_bom_handling(&bytes).0.into_owned().into_bytes()),
    }
}

/// Whether bytes are such text and no UTF-8.
pub(super) fn is_western(bytes: &[u8]) -> bool {
    std::str::from_utf8(bytes).is_err() && !bytes.iter().any(|byte| UNUSED.contains(byte))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn single_bytes_become_letters_and_what_is_utf_8_stays() {
        // hand: 0xfc is ü and 0x80 the euro sign in Windows-1252.
        assert_eq!(as_utf8(b"f\xfcr \x80".to_vec()), Ok("für €".as_bytes().to_vec()));
        assert!(is_western(b"f\xfcr"));
        let utf_8 = "für €".as_bytes();
        assert!(as_utf8(utf_8.to_vec()) == Ok(utf_8.to_vec()) && !is_western(utf_8));
        assert_eq!(as_utf8(b"a\n\xfcb\n\x81".to_vec()), Err(3));
        assert!(!is_western(b"\xfc\x81"));
    }
}
