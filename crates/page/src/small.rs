//! Photos made small enough for a list: upright, worked out once and one at a time, since a photo unpacked is large.

use image::{DynamicImage, ImageDecoder, ImageReader, Limits};
use std::collections::HashMap;
use std::io::Cursor;
use std::sync::{Arc, Mutex};

/// Longer side of a small picture.
const SIDE: u32 = 320;
/// Longest side of a photo, in pixels.
const LONGEST: u32 = 16_000;
/// Most memory that one photo may take unpacked, in bytes: some 60 megapixels.
const MOST: u64 = 192 << 20;
/// So many small pictures are kept, some 15 kB each.
const KEPT: usize = 400;

/// Small pictures by the digest of their photo.
#[derive(Default)]
pub struct Small(Mutex<HashMap<String, Arc<Vec<u8>>>>);

impl Small {
    /// The small picture of a photo, as JPEG; nothing if it is no picture that can be shown.
    pub fn of(&self, digest: &str, photo: &[u8]) -> Option<Arc<Vec<u8>>> {
        // Held while it is worked out: two photos unpacked at once would take twice the room.
        let mut kept = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(there) = kept.get(digest) {
            return Some(there.clone());
        }
        let made = Arc::new(make(photo)?);
        if kept.len() >= KEPT {
            kept.clear();
        }
        kept.insert(digest.to_owned(), made.clone());
        Some(made)
    }
}

fn make(photo: &[u8]) -> Option<Vec<u8>> {
    let mut reader = ImageReader::new(Cursor::new(photo)).with_guessed_format().ok()?;
    let mut limits = Limits::default();
    limits.max_image_width = Some(LONGEST);
    limits.max_image_height = Some(LONGEST);
    limits.max_alloc = Some(MOST);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().ok()?;
    // The reader's own limit does not count the picture itself.
    if decoder.total_bytes() > MOST {
        return None;
    }
    let upright = decoder.orientation().ok()?;
    let small = DynamicImage::from_decoder(decoder).ok()?.thumbnail(SIDE, SIDE);
    let mut small = DynamicImage::ImageRgb8(small.into_rgb8());
    small.apply_orientation(upright);
    let mut out = Vec::new();
    small.write_to(&mut Cursor::new(&mut out), image::ImageFormat::Jpeg).ok()?;
    Some(out)
}
