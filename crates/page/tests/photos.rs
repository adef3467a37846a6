//! Photos of a bike: kept in their slot, shown small, opened, removed and put back; what is no photo is refused in words.

mod common;

use axum::http::StatusCode;
use common::Client;
use image::{ImageFormat, RgbImage};
use jobbook::{By, NewFile};
use std::io::Cursor;

/// A picture of that size in that format; no two shades give the same one.
fn picture(width: u32, height: u32, shade: u8, format: ImageFormat) -> Vec<u8> {
    let mut out = Cursor::new(Vec::new());
    RgbImage::from_fn(width, height, |x, y| image::Rgb([shade, x as u8, y as u8]))
        .write_to(&mut out, format)
        .expect("a picture");
    out.into_inner()
}

const FILES: &str = "/bikes/0117/files";

#[tokio::test]
async fn photos_stay_in_their_slot_and_come_back_after_being_removed() {
    let client = Client::demo();
    let (wide, tall) = (picture(900, 600, 1, ImageFormat::Jpeg), picture(40, 60, 2, ImageFormat::Png));
    let sent = client
        .send(FILES, &[("slot", "p08"), ("change", "abcdef0123456789")], &[("IMG_1.JPG", &wide), ("scan.png", &tall)])
        .await;
    assert_eq!((sent.status, sent.header("location").as_str()), (StatusCode::SEE_OTHER, "/bikes/0117/files?slot=p08"));
    let kept = client.app.book.attachments("0117").expect("a list");
    assert_eq!(kept.iter().map(|f| f.slot.as_str()).collect::<Vec<_>>(), ["p08", "p08"]);
    // The same form sent again, after a lost answer, keeps nothing twice.
    client
        .send(FILES, &[("slot", "p08"), ("change", "abcdef0123456789")], &[("IMG_1.JPG", &wide), ("scan.png", &tall)])
        .await;
    assert_eq!(client.app.book.attachments("0117").expect("a list"), kept);

    // Small in the slot, on all slots, and on the question that asks for it.
    let first = &kept[0].name;
    for page in ["/bikes/0117/files?slot=p08", FILES, "/bikes/0117/measure/21"] {
        let text = client.get(page).await.text;
        assert_eq!(text.matches("/small\"").count(), 2, "{page}");
    }
    let small = client.get(&format!("{FILES}/{first}/small")).await;
    assert_eq!(small.header("content-type"), "image/jpeg");
    let seen = image::load_from_memory(&small.bytes).expect("a picture");
    assert_eq!((seen.width(), seen.height()), (320, 213));
    // Whole, byte for byte, with its digest.
    let whole = client.get(&format!("{FILES}/{first}")).await;
    assert_eq!((whole.header("content-type").as_str(), &whole.bytes), ("image/jpeg", &wide));
    assert!(client.get(&format!("{FILES}/{first}/look")).await.text.contains(&kept[0].sha256[..12]));

    // Removed, and put back with one touch.
    let gone = client.form(&format!("{FILES}/{first}/remove"), &[("change", "1111222233334444")]).await;
    let then = gone.header("location");
    assert_eq!(client.app.book.attachments("0117").expect("a list").len(), 1);
    assert_eq!(client.get(&format!("{FILES}/{first}")).await.status, StatusCode::NOT_FOUND);
    let page = client.get(&then).await.text;
    assert!(page.contains("Removed.") && page.contains("Put it back"), "{page}");
    let id = page.split("name=\"id\" value=\"").nth(1).and_then(|r| r.split('"').next()).expect("a change").to_owned();
    let back = client.form("/bikes/0117/undo", &[("id", &id), ("then", "/bikes/0117/files?slot=p08")]).await;
    assert_eq!(back.header("location"), "/bikes/0117/files?slot=p08");
    assert_eq!(client.app.book.attachments("0117").expect("a list"), kept);
    assert!(!client.get(&then).await.text.contains("Put it back"), "it is back already");
}

/// A phone held upright writes its photo lying, with a note which way is up.
#[tokio::test]
async fn small_pictures_stand_upright() {
    let client = Client::demo();
    let lying = picture(120, 60, 3, ImageFormat::Jpeg);
    // TIFF header, one entry: orientation (0x0112), short, one value, 6: turn a quarter to the right.
    let tiff = b"MM\0\x2a\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0\0\0\0\0";
    let length = (2 + 6 + tiff.len()) as u16;
    let upright = [&lying[..2], &[0xff, 0xe1], &length.to_be_bytes(), b"Exif\0\0", &tiff[..], &lying[2..]].concat();
    client.send(FILES, &[("slot", "p01"), ("change", "0011223344556677")], &[("a.jpg", &upright)]).await;
    let name = client.app.book.attachments("0117").expect("a list")[0].name.clone();
    let small = client.get(&format!("{FILES}/{name}/small")).await;
    let seen = image::load_from_memory(&small.bytes).expect("a picture");
    assert!(seen.height() > seen.width(), "{} x {}", seen.width(), seen.height());
}

#[tokio::test]
async fn what_is_no_photo_is_refused_with_words_that_say_what_is_allowed() {
    let client = Client::demo();
    let good = picture(80, 60, 4, ImageFormat::Jpeg);
    let cut = good[..good.len() / 2].to_vec();
    let heic = [&[0, 0, 0, 24][..], b"ftypheic\0\0\0\0mif1heic"].concat();
    let wav = [&b"RIFF\x24\0\0\0WAVEfmt "[..], &[0; 40]].concat();
    let (only, shown) = ("Only photos (jpg, png, webp) and logs (csv) are kept", "cannot be shown");
    for (name, bytes, says) in [
        ("a.jpg", b"<html><script>alert(1)</script></html>".to_vec(), only),
        ("a.svg", b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>".to_vec(), only),
        ("a.gif", b"GIF89a\x01\0\x01\0\0\0\0;".to_vec(), only),
        ("a.webp", wav, only),
        ("a.pdf", b"%PDF-1.7".to_vec(), only),
        ("a.heic", heic, "Set the camera to JPEG"),
        ("a.jpg", cut.clone(), shown),
        ("a.jpg", [&[0xff, 0xd8, 0xff][..], b"<script>alert(1)</script>"].concat(), shown),
    ] {
        // A good photo beside it is not kept either: all or none.
        let answer = client
            .send(FILES, &[("slot", "p02"), ("change", "99998888")], &[("good.jpg", &good), (name, &bytes)])
            .await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}");
        assert!(answer.text.contains(says), "{name}: {}", answer.text);
        assert!(client.app.book.attachments("0117").expect("a list").is_empty(), "{name} left something");
    }
    let huge = client.send(FILES, &[("slot", "p02")], &[("a.jpg", &[&good[..], &vec![0; 25 << 20]].concat())]).await;
    assert_eq!(huge.status, StatusCode::PAYLOAD_TOO_LARGE);
    let nothing = client.send(FILES, &[("slot", "p02")], &[("", b"")]).await;
    assert_eq!(nothing.status, StatusCode::UNPROCESSABLE_ENTITY);
}

/// A decompression bomb: few bytes that unpack to more than is allowed.
#[tokio::test]
async fn a_small_file_that_unpacks_hugely_is_refused() {
    let client = Client::demo();
    let mut bomb = Cursor::new(Vec::new());
    image::GrayImage::new(15_000, 15_000).write_to(&mut bomb, ImageFormat::Png).expect("a picture");
    let bomb = bomb.into_inner();
    assert!(bomb.len() < 2 << 20, "{}", bomb.len());
    let answer = client.send(FILES, &[("slot", "p02")], &[("a.png", &bomb)]).await;
    assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{}", answer.text);
}

#[tokio::test]
async fn nothing_kept_is_ever_served_as_something_a_browser_runs() {
    let client = Client::demo();
    let by = By::new("somebody", "elsewhere");
    let script = b"<script>alert(1)</script>";
    // However it came into the book: by an import, an older version, another program.
    for (name, media_type) in [("a.html", "text/html"), ("b.svg", "image/svg+xml"), ("c.jpg", "application/xhtml+xml")]
    {
        let file = NewFile { name, media_type, slot: "p03", personal: false, bytes: script };
        client.app.book.attach("0117", &file, &by).expect("kept");
        let answer = client.get(&format!("{FILES}/{name}")).await;
        assert_eq!(answer.header("content-type"), "application/octet-stream", "{name}");
        assert_eq!(answer.header("x-content-type-options"), "nosniff");
        assert!(answer.header("content-security-policy").contains("sandbox"), "{name}");
        assert_eq!(client.get(&format!("{FILES}/{name}/small")).await.status, StatusCode::NOT_FOUND);
    }
    let log = client.send(FILES, &[("change", "77776666")], &[("ride.csv", b"t_s,v_kmh\n0,0\n")]).await;
    assert_eq!(log.status, StatusCode::SEE_OTHER, "{}", log.text);
    let name = client.app.book.attachments("0117").expect("a list").into_iter().find(|f| f.media_type == "text/csv");
    let answer = client.get(&format!("{FILES}/{}", name.expect("a log").name)).await;
    assert_eq!(
        (answer.header("content-type").as_str(), answer.header("content-disposition").as_str()),
        ("text/csv", "attachment")
    );
}

#[tokio::test]
async fn what_shows_a_person_goes_with_the_riders_data() {
    let client = Client::demo();
    let (face, bike) = (picture(30, 30, 5, ImageFormat::Png), picture(30, 30, 6, ImageFormat::Png));
    client.send(FILES, &[("slot", "p01"), ("change", "12121212"), ("personal", "yes")], &[("a.png", &face)]).await;
    client.send(FILES, &[("slot", "p01"), ("change", "34343434")], &[("b.png", &bike)]).await;
    let by = By::new("Mirra Stobel", "bench 1");
    let erased = client.app.book.erase_rider("0117", &[], &by).expect("erased");
    assert_eq!(erased.files, ["p01-12121212.png"]);
    let left = client.app.book.attachments("0117").expect("a list");
    assert_eq!(left.iter().map(|f| f.name.as_str()).collect::<Vec<_>>(), ["p01-34343434.png"]);
}
