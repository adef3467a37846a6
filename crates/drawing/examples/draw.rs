//! Draws a job's pictures: `draw JOB FORMAT THEME`.
fn main() {
    let args: Vec<String> = std::env::args().collect();
    let job = intake::load_job(std::path::Path::new(&args[1])).unwrap_or_else(|_| panic!("a job that can be read"));
    let check = workbench::check::check(&job);
    let format = match args[2].as_str() {
        "tall" => drawing::Format::Tall,
        "narrow" => drawing::Format::Narrow,
        _ => drawing::Format::Wide,
    };
    let theme = match args[3].as_str() {
        "print" => drawing::Theme::Print,
        _ => drawing::Theme::File,
    };
    print!(
        "{}",
        drawing::load_path(&job, &check, &drawing::Options { format, theme, heading: true, ..Default::default() })
    );
}
