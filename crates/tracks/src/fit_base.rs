//! Base types and the check sum of FIT.

/// A base type, by its number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Base(pub u8);

/// The first value of a field; `None` if it is invalid, or no number.
pub(crate) fn value_of(bytes: &[u8], base: Base, big_endian: bool) -> Option<f64> {
    let number = |size: usize| -> Option<u64> {
        let part = bytes.get(..size)?;
        let shift = |value: u64, byte: &u8| value << 8 | u64::from(*byte);
        Some(if big_endian { part.iter().fold(0, shift) } else { part.iter().rev().fold(0, shift) })
    };
    let signed = |size: usize| {
        let value = number(size)?;
        let unused = 64 - 8 * size as u32;
        let invalid = u64::MAX >> (unused + 1);
        (value != invalid).then_some(((value << unused) as i64 >> unused) as f64)
    };
    let unsigned =
        |size: usize| number(size).filter(|value| *value != u64::MAX >> (64 - 8 * size as u32)).map(|v| v as f64);
    let not_zero = |size: usize| number(size).filter(|value| *value != 0).map(|value| value as f64);
    match base.0 & 0x1f {
        0x00 | 0x02 | 0x0d => unsigned(1),
        0x01 => signed(1),
        0x03 => signed(2),
        0x04 => unsigned(2),
        0x05 => signed(4),
        0x06 => unsigned(4),
        0x08 => number(4).map(|bits| f64::from(f32::from_bits(bits as u32))).filter(|value| value.is_finite()),
        0x09 => number(8).map(f64::from_bits).filter(|value| value.is_finite()),
        0x0a => not_zero(1),
        0x0b => not_zero(2),
        0x0c => not_zero(4),
        0x0e => signed(8),
        0x0f => unsigned(8),
        0x10 => not_zero(8),
        _ => None,
    }
}

/// A text up to its first zero.
pub(crate) fn text_of(bytes: &[u8]) -> String {
    let length = bytes.iter().position(|byte| *byte == 0).unwrap_or(bytes.len());
    String::from_utf8_lossy(&bytes[..length]).into_owned()
}

/// CRC-16 with the reflected polynomial 0xA001, beginning at zero; one entry a byte.
const TABLE: [u16; 256] = {
    let mut table = [0; 256];
    let mut byte = 0;
    while byte < 256 {
        let mut rest = byte as u16;
        let mut bit = 0;
        while bit < 8 {
            rest = if rest & 1 == 1 { rest >> 1 ^ 0xa001 } else { rest >> 1 };
            bit += 1;
        }
        table[byte] = rest;
        byte += 1;
    }
    table
};

/// Goes on with a check sum.
pub(crate) fn crc(sum: u16, bytes: &[u8]) -> u16 {
    bytes.iter().fold(sum, |sum, byte| sum >> 8 ^ TABLE[usize::from(sum as u8 ^ byte)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_sum_is_crc_16_arc() {
        // The check value of CRC-16/ARC in the catalogue of parametrised CRC algorithms.
        assert_eq!(crc(0, b"123456789"), 0xbb3d);
    }

    #[test]
    fn values_of_each_kind_and_their_invalid_ones() {
        let little = |bytes: &[u8], base| value_of(bytes, Base(base), false);
        assert_eq!(little(&[0x34, 0x12], 0x84), Some(4660.0));
        assert_eq!(value_of(&[0x12, 0x34], Base(0x84), true), Some(4660.0));
        assert_eq!(little(&[0xff, 0xff], 0x84), None);
        assert_eq!(little(&[0xff, 0x7f], 0x83), None);
        assert_eq!(little(&[0xff, 0xff], 0x83), Some(-1.0));
        assert_eq!(little(&[0xfe], 0x01), Some(-2.0));
        assert_eq!(little(&[0x7f], 0x01), None);
        assert_eq!(little(&[0, 0, 0, 0x80], 0x85), Some(-2_147_483_648.0));
        assert_eq!(little(&[0xff, 0xff, 0xff, 0x7f], 0x85), None);
        assert_eq!(little(&[0], 0x0a), None);
        assert_eq!(little(&1.5f32.to_le_bytes(), 0x88), Some(1.5));
        assert_eq!(little(&[0xff; 4], 0x88), None);
        assert_eq!(little(&(-2.5f64).to_le_bytes(), 0x89), Some(-2.5));
        assert_eq!(little(&[0xff; 8], 0x8f), None);
        assert_eq!(little(&[1], 0x84), None);
        assert_eq!(little(&[1], 0x07), None);
    }
}
