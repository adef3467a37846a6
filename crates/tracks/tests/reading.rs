//! What each format means, and what is said about files that are odd or broken. The files are written here, after the
//! public schemas of the formats.

use tracks::{Clock, Columns, Error, Format, LogReader, Place, Quantity, Route, Smoothing, Track, read};

fn track(text: &str) -> Track {
    read(text.as_bytes(), &Columns::default()).unwrap_or_else(|error| panic!("{error}"))
}

fn fault(bytes: &[u8]) -> Error {
    read(bytes, &Columns::default()).expect_err("this file is broken")
}

fn says(track: &Track, what: &str) -> bool {
    track.notes.iter().any(|note| note.to_string().contains(what))
}

fn column(track: &Track, segment: usize, quantity: Quantity) -> Vec<f64> {
    track.segments[segment].column(quantity).map(<[f64]>::to_vec).unwrap_or_default()
}

const GPX: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<gpx xmlns="http://www.topografix.com/GPX/1/1" xmlns:x="http://example.org/x">
<metadata><name>Above the mill</name></metadata>
<wpt lat="1" lon="2"><ele>5</ele></wpt>
<trk><name>ride</name><trkseg>
<trkpt lat="46.5" lon="7.25"><ele>601.5</ele><time>2026-09-01T10:00:00Z</time><magvar>3</magvar>
 <extensions><x:PointExtension><x:cad>71</x:cad><x:atemp>18</x:atemp></x:PointExtension><power>120</power></extensions></trkpt>
<trkpt lon='7.2501' lat='46.5001'><time>2026-09-01T10:00:02.500Z</time></trkpt>
<trkpt lat="46.5002" lon="7.2502"/>
</trkseg><trkseg></trkseg><trkseg>
<trkpt lat="46.6" lon="7.3"><ele><![CDATA[ 610 ]]></ele><time>2026-09-01T12:00:00+02:00</time></trkpt>
</trkseg></trk></gpx>"#;

#[test]
fn gpx_with_extensions_and_without_a_version() {
    let track = track(GPX);
    assert_eq!((track.format, track.clock, track.name.as_deref()), (Format::Gpx, Clock::Utc, Some("Above the mill")));
    assert_eq!(track.segments.iter().map(tracks::Segment::len).collect::<Vec<_>>(), [3, 1]);
    assert_eq!(column(&track, 0, Quantity::Latitude), [46.5, 46.5001, 46.5002]);
    assert_eq!(column(&track, 0, Quantity::Longitude), [7.25, 7.2501, 7.2502]);
    assert_eq!(column(&track, 0, Quantity::Height)[0], 601.5);
    assert!(column(&track, 0, Quantity::Height)[1].is_nan());
    assert_eq!(column(&track, 1, Quantity::Height), [610.0]);
    assert_eq!(column(&track, 0, Quantity::Cadence)[0], 71.0);
    assert_eq!(column(&track, 0, Quantity::RiderPower)[0], 120.0);
    assert_eq!(column(&track, 0, Quantity::AirTemperature)[0], 18.0);
    assert_eq!(track.segments[0].time_s[1] - track.segments[0].time_s[0], 2.5);
    assert_eq!(track.segments[1].time_s[0], track.segments[0].time_s[0]);
    assert!(
        says(&track, "line 4: a waypoint")
            && says(&track, "line 11: a time that was there before") | says(&track, "clock steps back")
    );
    assert!(!track.has(Quantity::Speed));
}

#[test]
fn the_same_in_other_encodings_and_prefixes() {
    let wanted = format!("{:?}", track(GPX).segments);
    let utf_16 = |text: &str, bytes: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(bytes).collect::<Vec<u8>>();
    let with_mark = format!("\u{feff}{GPX}");
    for bytes in [
        with_mark.as_bytes().to_vec(),
        utf_16(&with_mark, u16::to_le_bytes),
        utf_16(&with_mark, u16::to_be_bytes),
        utf_16(GPX, u16::to_le_bytes),
    ] {
        assert_eq!(format!("{:?}", read(&bytes, &Columns::default()).unwrap().segments), wanted);
    }
    let prefixed =
        GPX.replace("</", "</g:").replace("<trk", "<g:trk").replace("<gpx", "<g:gpx").replace("<ele", "<g:ele");
    let prefixed = prefixed
        .replace("<time", "<g:time")
        .replace("<metadata", "<g:metadata")
        .replace("<name", "<g:name")
        .replace("<wpt", "<g:wpt");
    let prefixed = prefixed
        .replace("</g:x:", "</x:")
        .replace("</g:power", "</power")
        .replace("</g:extensions", "</extensions")
        .replace("</g:magvar", "</magvar");
    assert_eq!(format!("{:?}", track(&prefixed).segments), wanted);
    // Latin-1, declared and not declared.
    for encoding in ["ISO-8859-1", "UTF-8"] {
        let text = GPX.replace("UTF-8", encoding).replace("mill", "m\u{fc}hle");
        let bytes: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
        let track = read(&bytes, &Columns::default()).unwrap();
        assert_eq!(format!("{:?}", track.segments), wanted);
        let name = if encoding == "UTF-8" { "Above the m\u{fffd}hle" } else { "Above the mühle" };
        assert_eq!(track.name.as_deref(), Some(name));
    }
}

#[test]
fn tcx_laps_go_on_and_tracks_within_a_lap_do_not() {
    let point = |second: u32, metres: u32| {
        format!(
            "<Trackpoint><Time>2026-09-01T10:00:{second:02}Z</Time><Position><LatitudeDegrees>46.5</LatitudeDegrees>\
             <LongitudeDegrees>7.{second:02}</LongitudeDegrees></Position><AltitudeMeters>600</AltitudeMeters>\
             <DistanceMeters>{metres}</DistanceMeters><HeartRateBpm><Value>99</Value></HeartRateBpm><Cadence>60</Cadence>\
             <Extensions><ns3:TPX><ns3:Speed>5.5</ns3:Speed><ns3:Watts>210</ns3:Watts></ns3:TPX></Extensions></Trackpoint>"
        )
    };
    let lap = |inside: &str| format!("<Lap StartTime=\"x\"><DistanceMeters>9999</DistanceMeters>{inside}</Lap>");
    let text = format!(
        "<TrainingCenterDatabase xmlns:ns3=\"e\"><Activities><Activity Sport=\"Biking\"><Id>evening</Id>{}{}</Activity></Activities></TrainingCenterDatabase>",
        lap(&format!("<Track>{}{}</Track>", point(0, 0), point(1, 6))),
        lap(&format!("<Track>{}</Track><Track>{}</Track>", point(2, 12), point(9, 50))),
    );
    let track = track(&text);
    assert_eq!((track.format, track.clock), (Format::Tcx, Clock::Utc));
    assert_eq!(track.segments.iter().map(tracks::Segment::len).collect::<Vec<_>>(), [3, 1]);
    assert_eq!(column(&track, 0, Quantity::Distance), [0.0, 6.0, 12.0]);
    assert_eq!(column(&track, 1, Quantity::RiderPower), [210.0]);
    assert_eq!(column(&track, 1, Quantity::Speed), [5.5]);
    assert_eq!(column(&track, 0, Quantity::Cadence), [60.0; 3]);
}

#[test]
fn broken_xml_says_where() {
    let cut = &GPX[..GPX.find("<trkpt lon").unwrap() + 20];
    let error = fault(cut.as_bytes());
    assert_eq!(error.place, Place::Line(8), "{error}");
    let whole_points = &GPX[..GPX.find("</trkseg>").unwrap()];
    let error = fault(whole_points.as_bytes());
    assert!(matches!(error.place, Place::Line(10)) && error.what.contains("3 elements"), "{error}");
    let crossed = GPX.replacen("</ele>", "</elevation>", 2);
    assert_eq!(fault(crossed.as_bytes()).place, Place::Line(4));
    let error = fault(b"<kml><Document/></kml>");
    assert!(error.what.contains("kml") && error.next.contains("GPX"), "{error}");
    assert!(fault(b"<gpx></gpx>").what.contains("no point"));
    assert!(fault(b"<?xml version='1.0'?>").what.contains("no element"));
}

#[test]
fn other_files_are_refused_with_a_hint() {
    assert!(fault(b"").next.contains("GPX"));
    assert!(fault(b"\n \n").next.contains("GPX"));
    assert!(fault(&[0x1f, 0x8b, 8, 0, 0]).next.contains("unpack"));
    assert!(fault(b"PK\x03\x04....").next.contains("unpack"));
    assert!(matches!(fault(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR").place, Place::Byte(_)));
    assert!(fault(b"Dear workshop, the bike squeaks.").next.contains("distance (km)"));
}

#[test]
fn a_table_of_distance_and_height_is_a_route() {
    for text in [
        "distance (km),height (m)\n0,100\n0.5,120\n1,110\n",
        "Distance [km];Altitude [m]\n0;100\n0,5;120,0\n1,0;110\n",
        "# written by nobody\n\ndistance\theight\nkm\tm\n0\t100\n0.5\t120\n1\t110\n",
    ] {
        let track = track(text);
        assert_eq!((track.format, track.clock), (Format::Csv, Clock::None), "{text}");
        assert_eq!(column(&track, 0, Quantity::Distance), [0.0, 500.0, 1000.0], "{text}");
        let route = Route::of(&track, Smoothing { step_m: 10.0, half_length_m: 0.0 }).unwrap();
        assert_eq!(route.length_m(), 1000.0);
        assert!((route.height_at(250.0) - 110.0).abs() < 1e-9 && (route.grade_at(700.0) + 0.02).abs() < 1e-9);
    }
    let in_latin_1 = b"H\xf6he;distance (m);height (m)\n1;0;5\n1;9;5\n";
    assert_eq!(read(in_latin_1, &Columns::default()).unwrap().points(), 2);
}

#[test]
fn a_log_without_a_way_is_a_log() {
    let text = "time_s,rider_power_w,bus_voltage_v\n0,100,50.5\n1,110,50.4\n2,,50.3\n";
    let track = track(text);
    assert_eq!(column(&track, 0, Quantity::BusVoltage), [50.5, 50.4, 50.3]);
    assert!(column(&track, 0, Quantity::RiderPower)[2].is_nan());
    let error = Route::of(&track, Smoothing::default()).unwrap_err();
    assert!(error.what.contains("a log, not a route") && error.next.contains("distance and height"), "{error}");
}

#[test]
fn a_columns_file_says_what_headers_mean() {
    let columns = Columns::parse(
        r#"
[columns]
"Zeit" = { quantity = "time", unit = "ms" }
"I_bat" = { quantity = "battery current", unit = "A", scale = -1 }
"Hebel" = { quantity = "brake signal", unit = "1", scale = 0.3125, offset = -0.25 }
"speed (km/h)" = { quantity = "none" }
"gone" = { quantity = "height", unit = "m" }
"#,
    )
    .unwrap();
    let text = "Zeit;I_bat;Hebel;speed (km/h);what\n0;-2,5;0,8;11,1;5\n100;1;4;12;6\n";
    let track = read(text.as_bytes(), &columns).unwrap();
    assert_eq!(track.clock, Clock::Relative);
    assert_eq!(track.segments[0].time_s, [0.0, 0.1]);
    assert_eq!(column(&track, 0, Quantity::BatteryCurrent), [2.5, -1.0]);
    assert_eq!(column(&track, 0, Quantity::BrakeSignal), [0.0, 1.0]);
    assert!(!track.has(Quantity::Speed));
    assert!(says(&track, "`gone`") && says(&track, "`what` is not recognised"), "{:?}", track.notes);
}

#[test]
fn times_in_many_forms() {
    let seconds = |text: &str| {
        let track = track(text);
        (track.clock, track.segments[0].time_s.clone())
    };
    let base = 1_788_220_800.0;
    assert_eq!(
        seconds("time,speed_kmh\n2026-09-01T00:00:00Z,1\n2026-09-01T00:00:00.1Z,1\n"),
        (Clock::Utc, vec![base, base + 0.1])
    );
    assert_eq!(
        seconds("date,time,speed_kmh\n2026-09-01,00:00:05,1\n2026-09-01,00:00:06,1\n"),
        (Clock::Local, vec![base + 5.0, base + 6.0])
    );
    assert_eq!(seconds("time,speed_kmh\n23:59:59,1\n00:00:01,1\n"), (Clock::Relative, vec![86_399.0, 86_401.0]));
    assert_eq!(
        seconds("timestamp,speed_kmh\n1788220800500,1\n1788220801000,1\n"),
        (Clock::Utc, vec![base + 0.5, base + 1.0])
    );
    assert_eq!(seconds("time_ms,speed_kmh\n500,1\n1000,1\n"), (Clock::Relative, vec![0.5, 1.0]));
    assert!(says(&track("time,speed_kmh\n0,1\n1,1\n"), "taken as seconds"));
}

#[test]
fn odd_rows_are_noted_and_not_lost() {
    let text = "time_s,speed_kmh,height_m\n0,36,5\n1,x,5\n1,36\n0.5,36,5\n500,36,5\n501,3";
    let track = track(text);
    assert_eq!(track.points(), 5, "{:?}", track.notes);
    let speed = column(&track, 0, Quantity::Speed);
    assert!(speed[0] == 10.0 && speed[1].is_nan() && speed[2] == 10.0);
    for what in [
        "line 3: `speed_kmh` holds something",
        "line 4: a row with fewer cells",
        "line 4: a time that was there before",
        "line 5: the clock steps back",
        "line 6: a gap of more than a minute",
        "line 7: the last row is cut off",
    ] {
        assert!(says(&track, what), "{what}: {:?}", track.notes);
    }
}

#[test]
fn what_is_left_out_comes_with_the_line_that_takes_it_in() {
    let text = "time_s,height_m,speed,current (A)\n0,1,36,5\n";
    let track = track(text);
    assert!(!track.has(Quantity::Speed) && !track.has(Quantity::BatteryCurrent));
    let notes: Vec<String> = track.notes.iter().map(ToString::to_string).collect();
    let line = |note: &String| note.split("for example ").nth(1).map(str::to_owned).unwrap_or_default();
    assert!(notes.len() == 2 && notes[1].contains("battery current, phase current"), "{notes:?}");
    let file = format!("[columns]\n{}\n{}\n", line(&notes[0]), line(&notes[1]));
    let track =
        read(text.as_bytes(), &Columns::parse(&file).unwrap_or_else(|error| panic!("{error}: {file}"))).unwrap();
    assert_eq!(column(&track, 0, Quantity::Speed), [10.0]);
    assert_eq!(column(&track, 0, Quantity::BatteryCurrent), [5.0]);
}

#[test]
fn a_table_that_is_no_table_says_why() {
    assert!(fault(b"time_s,speed\n0,1\n").next.contains("columns file"));
    assert_eq!(fault(b"time_s,speed_kmh\n").place, Place::Line(1));
    let error = fault(b"time_s,speed_kmh\nx,a\ny,b\n");
    assert!(error.what.contains("no row has a number") && error.next.contains("decimal"), "{error}");
}

#[test]
fn a_stream_gives_the_same_as_the_whole() {
    let mut text = String::from("time_s,speed_kmh,battery_current_a\n");
    for i in 0..20_000 {
        text += &format!("{}.{},{},{}\n", i / 10, i % 10, i % 45, (i % 30) - 15);
    }
    let whole = track(&text);
    let mut reader = LogReader::new(text.as_bytes(), &Columns::default()).unwrap();
    let current = reader.place_of(Quantity::BatteryCurrent).unwrap();
    let mut i = 0;
    while let Some(sample) = reader.read_sample().unwrap() {
        assert_eq!(sample.time_s, whole.segments[0].time_s[i]);
        assert_eq!(sample.values[current], whole.segments[0].values[current][i]);
        assert_eq!(sample.place, Place::Line(i as u64 + 2));
        i += 1;
    }
    assert_eq!(i, 20_000);
}
