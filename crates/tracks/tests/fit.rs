//! FIT files written here by the public protocol, and what is read from them.

use tracks::{Clock, Columns, Format, Place, Quantity, Track, read};

const UINT8: u8 = 0x02;
const UINT16: u8 = 0x84;
const UINT32: u8 = 0x86;
const SINT32: u8 = 0x85;
const TEXT: u8 = 0x07;

/// CRC-16 as the protocol writes it down: half a byte at a time, from a table of sixteen.
fn crc(bytes: &[u8]) -> u16 {
    const TABLE: [u16; 16] = [
        0x0000, 0xCC01, 0xD801, 0x1400, 0xF001, 0x3C00, 0x2800, 0xE401, 0xA001, 0x6C00, 0x7800, 0xB401, 0x5000, 0x9C01,
        0x8801, 0x4400,
    ];
    bytes.iter().fold(0, |sum: u16, byte| {
        let low = (sum >> 4) & 0x0fff ^ TABLE[usize::from(sum & 15)] ^ TABLE[usize::from(byte & 15)];
        (low >> 4) & 0x0fff ^ TABLE[usize::from(low & 15)] ^ TABLE[usize::from(byte >> 4)]
    })
}

/// A whole file around its records.
fn file(records: &[u8]) -> Vec<u8> {
    let mut bytes = vec![14, 0x20, 0, 8];
    bytes.extend((records.len() as u32).to_le_bytes());
    bytes.extend(b".FIT");
    bytes.extend(crc(&bytes).to_le_bytes());
    bytes.extend(records);
    bytes.extend(crc(&bytes).to_le_bytes());
    bytes
}

/// A definition: local number, byte order, message, fields (number, size, base type), developer fields (number, size,
/// developer).
fn define(local: u8, big_endian: bool, message: u16, fields: &[[u8; 3]], developer: &[[u8; 3]]) -> Vec<u8> {
    let mut bytes = vec![0x40 | local | if developer.is_empty() { 0 } else { 0x20 }, 0, u8::from(big_endian)];
    bytes.extend(if big_endian { message.to_be_bytes() } else { message.to_le_bytes() });
    bytes.push(fields.len() as u8);
    bytes.extend(fields.concat());
    if !developer.is_empty() {
        bytes.push(developer.len() as u8);
        bytes.extend(developer.concat());
    }
    bytes
}

const START: u32 = 1_157_155_200;
/// 1989-12-31 in seconds since 1970.
const EPOCH: f64 = 631_065_600.0;

fn track(bytes: &[u8]) -> Track {
    read(bytes, &Columns::default()).unwrap_or_else(|error| panic!("{error}"))
}

fn column(track: &Track, quantity: Quantity) -> Vec<f64> {
    track.segments.iter().flat_map(|s| s.column(quantity).unwrap_or_default().iter().copied()).collect()
}

/// Time, position, plain and enhanced height, power.
fn ride(big_endian: bool) -> Vec<u8> {
    let fields = [[253, 4, UINT32], [0, 4, SINT32], [1, 4, SINT32], [2, 2, UINT16], [78, 4, UINT32], [7, 2, UINT16]];
    let mut bytes = define(3, big_endian, 20, &fields, &[]);
    for (second, height, enhanced, power) in
        [(0u32, 3100u16, 3600u32, 150u16), (1, 3105, u32::MAX, 0xffff), (2, 0xffff, 3620, 160)]
    {
        bytes.push(3);
        let mut put = |le: &[u8]| {
            let mut part = le.to_vec();
            if big_endian {
                part.reverse();
            }
            bytes.extend(part);
        };
        put(&(START + second).to_le_bytes());
        put(&(2i32.pow(29) + second as i32).to_le_bytes());
        put(&(-2i32.pow(28)).to_le_bytes());
        put(&height.to_le_bytes());
        put(&enhanced.to_le_bytes());
        put(&power.to_le_bytes());
    }
    bytes
}

#[test]
fn both_byte_orders_scales_and_invalid_values() {
    for big_endian in [false, true] {
        let track = track(&file(&ride(big_endian)));
        assert_eq!((track.format, track.clock, track.points()), (Format::Fit, Clock::Utc, 3));
        assert_eq!(track.segments[0].time_s[2], EPOCH + f64::from(START) + 2.0);
        assert_eq!(column(&track, Quantity::Latitude)[0], 45.0);
        assert_eq!(column(&track, Quantity::Longitude)[0], -22.5);
        // (3600 / 5) − 500 from the enhanced field, (3105 / 5) − 500 where that is invalid.
        assert_eq!(column(&track, Quantity::Height), [220.0, 121.0, 224.0]);
        let power = column(&track, Quantity::RiderPower);
        assert!(power[0] == 150.0 && power[1].is_nan() && power[2] == 160.0);
        assert!(!track.has(Quantity::Cadence));
    }
}

#[test]
fn compressed_times_go_on_from_the_last_whole_one() {
    let mut bytes = define(0, false, 20, &[[253, 4, UINT32], [4, 1, UINT8]], &[]);
    bytes.push(0);
    bytes.extend((START + 30 - START % 32).to_le_bytes());
    bytes.push(60);
    bytes.extend(define(1, false, 20, &[[4, 1, UINT8]], &[]));
    for (short, cadence) in [(31, 61), (1, 62), (1, 63), (0, 64)] {
        bytes.extend([0x80 | 1 << 5 | short, cadence]);
    }
    let track = track(&file(&bytes));
    let times: Vec<f64> = track.segments[0].time_s.iter().map(|t| t - track.segments[0].time_s[0]).collect();
    assert_eq!(times, [0.0, 1.0, 3.0, 3.0, 34.0]);
    assert_eq!(column(&track, Quantity::Cadence), [60.0, 61.0, 62.0, 63.0, 64.0]);
}

#[test]
fn developer_fields_are_known_by_name_and_unit() {
    let text = |text: &str, size: usize| {
        let mut bytes = text.as_bytes().to_vec();
        bytes.resize(size, 0);
        bytes
    };
    let describe = [[0, 1, UINT8], [1, 1, UINT8], [2, 1, UINT8], [3, 24, TEXT], [8, 8, TEXT], [6, 1, UINT8]];
    let mut bytes = define(0, false, 206, &describe, &[]);
    for (number, name, unit, scale) in
        [(5, "Battery current", "A", 100), (6, "Motor temperature", "\u{b0}C", 1), (7, "mood", "", 1)]
    {
        bytes.extend([0, 0, number, if number == 5 { 0x83 } else { UINT8 }]);
        bytes.extend(text(name, 24));
        bytes.extend(text(unit, 8));
        bytes.push(scale);
    }
    bytes.extend(define(1, false, 20, &[[253, 4, UINT32]], &[[5, 2, 0], [6, 1, 0], [7, 1, 0]]));
    for (second, current) in [(0u32, -250i16), (1, 0x7fff)] {
        bytes.push(1);
        bytes.extend((START + second).to_le_bytes());
        bytes.extend(current.to_le_bytes());
        bytes.extend([41, 3]);
    }
    let track = track(&file(&bytes));
    let current = column(&track, Quantity::BatteryCurrent);
    assert!(current[0] == -2.5 && current[1].is_nan(), "{current:?}");
    assert_eq!(column(&track, Quantity::MotorTemperature), [41.0, 41.0]);
    assert!(track.notes.iter().any(|note| note.what.contains("`mood`")), "{:?}", track.notes);
}

#[test]
fn a_stopped_timer_and_the_next_file_begin_segments() {
    let mut bytes = define(0, false, 20, &[[253, 4, UINT32]], &[]);
    bytes.extend(define(1, false, 21, &[[0, 1, 0], [1, 1, 0]], &[]));
    let point = |second: u32| [&[0][..], &(START + second).to_le_bytes()].concat();
    bytes.extend([point(0), point(1), vec![1, 0, 4], vec![1, 0, 0], point(60)].concat());
    let one = file(&bytes);
    assert_eq!(track(&one).segments.iter().map(tracks::Segment::len).collect::<Vec<_>>(), [2, 1]);
    let two = [one.clone(), one].concat();
    assert_eq!(track(&two).segments.iter().map(tracks::Segment::len).collect::<Vec<_>>(), [2, 1, 2, 1]);
}

#[test]
fn packed_speed_and_distance() {
    let mut bytes = define(0, false, 20, &[[8, 3, 0x0d]], &[]);
    // 12 bits of 1/100 m/s, then 12 bits of 1/16 m that run over.
    for (speed, distance) in [(500u32, 16u32), (510, 4090), (520, 10)] {
        let packed = speed | distance << 12;
        bytes.push(0);
        bytes.extend(&packed.to_le_bytes()[..3]);
    }
    let track = track(&file(&bytes));
    assert_eq!(column(&track, Quantity::Speed), [5.0, 5.1, 5.2]);
    assert_eq!(column(&track, Quantity::Distance), [1.0, 4090.0 / 16.0, (4096.0 + 10.0) / 16.0]);
}

#[test]
fn damage_is_found_and_said() {
    let good = file(&ride(false));
    assert_eq!(track(&good).points(), 3);
    let fault = |bytes: &[u8]| read(bytes, &Columns::default()).expect_err("it is damaged");
    let mut flipped = good.clone();
    flipped[60] ^= 4;
    let error = fault(&flipped);
    assert!(error.what.contains("check sum") && error.place == Place::Byte(good.len() as u64 - 2), "{error}");
    for length in 15..good.len() - 2 {
        let error = fault(&good[..length]);
        assert!(error.what.contains("ends here"), "{length}: {error}");
        assert!(matches!(error.place, Place::Byte(byte) if byte <= length as u64), "{length}: {error}");
    }
    let mut undefined = ride(false);
    undefined.extend([9, 0, 0]);
    assert!(fault(&file(&undefined)).what.contains("not defined"));
    let mut beyond = good.clone();
    beyond[4] -= 1;
    assert!(fault(&beyond).what.contains("beyond"));
    // No check sum, bytes after the end, never finished: read, and noted.
    let said = |bytes: &[u8], what: &str| track(bytes).notes.iter().any(|note| note.what.contains(what));
    assert!(said(&good[..good.len() - 2], "check sum at the end is missing"));
    assert!(said(&[&good[..], &[0; 40]].concat(), "after the end"));
    let mut unfinished = good[..good.len() - 2].to_vec();
    unfinished[4..8].fill(0);
    assert!(said(&unfinished, "not finished"));
}
