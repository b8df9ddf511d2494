//! What can be typed: the commands, their arguments and their help, worded by the catalogue.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::TypedValueParser as _;
use clap::{Arg, ArgAction, ArgMatches, Command, value_parser};
use clap_complete::Shell;
use colour::Tone;
use phantom::Setting;
use vocab::Date;

use crate::catalogue::{Language, fill, text};
use crate::filming::stills::{Light, Size};
use crate::filming::{self, On};
use crate::outcome::{Code, Outcome};
use crate::takehome::calendar::{self, At, MOST_DAYS, MOST_TIMES};

/// The whole command line.
pub fn command() -> Command {
    Command::new("tragion")
        .version(env!("CARGO_PKG_VERSION"))
        .about(text("cli.about"))
        .after_help(text("cli.exit_codes"))
        .args_conflicts_with_subcommands(true)
        .subcommand(desk())
        .subcommand(screen())
        .subcommand(draft())
        .subcommand(check())
        .subcommand(map())
        .subcommand(measure())
        .subcommand(follow())
        .subcommand(words())
        .subcommand(product())
        .subcommand(note())
        .subcommand(card())
        .subcommand(takehome())
        .subcommand(captions())
        .subcommand(phantom())
        .subcommand(backup())
        .subcommand(restore())
        .subcommand(export())
        .subcommand(erase())
        .subcommand(completions())
}

fn backup() -> Command {
    let keep = |word: &str| {
        let number = word.parse::<usize>().ok().filter(|n| *n > 0);
        number.ok_or_else(|| text("store.bad_keep").to_owned())
    };
    Command::new("backup")
        .about(text("store.backup"))
        .after_help(text("store.passphrase"))
        .arg(cabinet())
        .arg(output("out", "FILE", text("store.backup_out")))
        .arg(
            Arg::new("keep")
                .long("keep")
                .value_name("N")
                .value_parser(keep)
                .conflicts_with("out")
                .help(text("store.keep")),
        )
        .arg(json())
}

fn restore() -> Command {
    Command::new("restore")
        .about(text("store.restore"))
        .after_help(text("store.passphrase"))
        .arg(input("backup", "BACKUP", text("store.restore_from")))
        .arg(cabinet())
        .arg(json())
}

/// One client, by number.
fn client() -> Arg {
    let number = |word: &str| {
        let number = word.parse::<i64>().ok().filter(|n| *n > 0);
        number.ok_or_else(|| text("store.bad_client").to_owned())
    };
    Arg::new("client").long("client").value_name("N").value_parser(number)
}

fn export() -> Command {
    Command::new("export")
        .about(text("store.export"))
        .after_help(text("store.passphrase"))
        .arg(cabinet())
        .arg(output("out", "DIR", text("store.export_out")).required(true))
        .arg(client().help(text("store.export_client")))
        .arg(json())
}

fn erase() -> Command {
    Command::new("erase")
        .about(text("store.erase"))
        .after_help(text("store.passphrase"))
        .arg(cabinet())
        .arg(client().help(text("store.erase_client")).conflicts_with("all").required_unless_present("all"))
        .arg(flag("all", text("store.erase_all")))
        .arg(flag("yes", text("store.yes")))
        .arg(json())
}

fn desk() -> Command {
    Command::new("desk")
        .about(text("cli.desk"))
        .arg(
            Arg::new("port")
                .long("port")
                .value_name("N")
                .value_parser(value_parser!(u16))
                .default_value("0")
                .help(text("cli.port")),
        )
        .arg(flag("no-open", text("cli.no_open")))
        .arg(cabinet())
        .arg(flag("demo", text("cli.demo")))
        .arg(today())
        .arg(atlas())
}

/// The folder of the practice.
fn cabinet() -> Arg {
    Arg::new("cabinet")
        .long("cabinet")
        .value_name("PATH")
        .value_parser(value_parser!(PathBuf))
        .help(text("cli.cabinet"))
}

fn screen() -> Command {
    Command::new("screen")
        .about(text("cli.screen"))
        .arg(input("answers", "ANSWERS", text("cli.answers")))
        .arg(json())
        .arg(today())
        .arg(atlas())
}

fn draft() -> Command {
    Command::new("draft")
        .about(text("cli.draft"))
        .arg(input("request", "REQUEST", text("cli.request")))
        .arg(json())
        .arg(output("svg", "OUT", text("cli.svg")))
        .arg(output("toml", "OUT", text("cli.toml")))
        .arg(output("instance", "OUT.json", text("cli.instance")))
        .arg(today())
        .arg(atlas())
}

fn check() -> Command {
    Command::new("check")
        .about(text("cli.check"))
        .arg(input("routine", "ROUTINE", text("cli.routine")))
        .arg(json())
        .arg(today())
        .arg(atlas())
}

fn map() -> Command {
    Command::new("map")
        .about(text("cli.map"))
        .arg(input("photo", "PHOTO", text("cli.photo")))
        .arg(json())
        .arg(output("svg", "OUT", text("cli.map_svg")))
        .arg(output("overlay", "OUT", text("cli.overlay")))
        .arg(output("print", "OUT", text("cli.print")))
        .arg(flag("fit", text("cli.fit")).requires("print"))
        .arg(output("routine", "ROUTINE", text("cli.map_routine")))
        .arg(output("hands", "FILE", text("cli.hands")))
        .arg(output("first", "PHOTO", text("cli.first")))
        .arg(flag("mirrored", text("cli.mirrored")))
        .arg(Arg::new("passes").long("passes").value_name("N").value_parser(value_parser!(u8).range(1..=8)).hide(true))
        .arg(today())
        .arg(atlas())
}

fn measure() -> Command {
    let tone = |word: &str| Tone::parse(word).ok_or_else(|| text("cli.bad_tone").to_owned());
    Command::new("measure")
        .about(text("cli.measure"))
        .after_help(text("cli.measure_more"))
        .arg(
            Arg::new("photo")
                .value_name("PHOTO")
                .required(true)
                .num_args(1..)
                .value_parser(value_parser!(PathBuf))
                .help(text("cli.photos")),
        )
        .arg(
            Arg::new("card")
                .long("card")
                .value_name("CARD")
                .default_value("auto")
                .allow_hyphen_values(true)
                .help(text("cli.which_card")),
        )
        .arg(
            Arg::new("target")
                .long("target")
                .value_name("TARGET")
                .default_value("grey")
                .value_parser(["grey", "24-before", "24-after"])
                .help(text("cli.target")),
        )
        .arg(Arg::new("tone").long("tone").value_name("CLASS").value_parser(tone).help(text("cli.tone")))
        .arg(output("first", "PHOTO", text("cli.first")))
        .arg(flag("mirrored", text("cli.mirrored")))
        .arg(output("hands", "FILE", text("cli.hands")))
        .arg(output("overlay", "OUT.svg", text("cli.measure_overlay")))
        // For testing how well values repeat, on photographs that were not taken for it; nobody else should need it.
        .arg(flag("past-gates", text("cli.past_gates")).hide(true).conflicts_with("overlay"))
        .arg(json())
}

fn follow() -> Command {
    Command::new("follow")
        .about(text("followcmd.about"))
        .after_help(text("followcmd.more"))
        .arg(input("series", "SERIES.csv", text("followcmd.series")))
        .arg(output("plan", "PLAN.toml", text("followcmd.plan")))
        .arg(json())
        .arg(today())
}

fn words() -> Command {
    let said = |name: &'static str, value: &'static str| Arg::new(name).long(name).value_name(value);
    Command::new("words")
        .about(text("wordscmd.about"))
        .after_help(text("wordscmd.more"))
        .arg(input("file", "FILE", text("wordscmd.file")))
        .arg(said("country", "CODES").value_delimiter(',').action(ArgAction::Append).help(text("wordscmd.country")))
        .arg(
            said("rules", "FILE.toml")
                .action(ArgAction::Append)
                .value_parser(value_parser!(PathBuf))
                .help(text("wordscmd.rules")),
        )
        .arg(json())
}

fn product() -> Command {
    Command::new("product")
        .about(text("product.cli"))
        .after_help(text("product.cli_more"))
        .arg(input("file", "FILE", text("product.cli_file")))
        .arg(output("answers", "ANSWERS", text("product.cli_answers")))
        .arg(json())
        .arg(today())
        .arg(atlas())
}

fn note() -> Command {
    Command::new("note")
        .about(text("homenote.cli"))
        .arg(input("file", "FILE", text("homenote.cli_file")))
        .arg(json())
        .arg(atlas())
}

fn card() -> Command {
    let paper = |word: &str| press::Paper::parse(word).ok_or_else(|| text("cli.bad_paper").to_owned());
    Command::new("card").about(text("cli.card")).arg(input("out", "OUT.pdf", text("cli.card_out"))).arg(
        Arg::new("paper")
            .long("paper")
            .value_name("PAPER")
            .default_value("a4")
            .value_parser(paper)
            .help(text("cli.paper")),
    )
}

fn takehome() -> Command {
    let paper = |word: &str| press::Paper::parse(word).ok_or_else(|| text("cli.bad_paper").to_owned());
    let date = |word: &str| Date::parse(word).ok_or_else(|| fill("cli.bad_date", &[("word", &word)]));
    let at = |word: &str| At::parse(word).ok_or_else(|| fill("homecmd.bad_time", &[("word", &word)]));
    let zone = |word: &str| calendar::zone(word).ok_or_else(|| fill("homecmd.bad_zone", &[("word", &word)]));
    let days = |word: &str| {
        let number = word.parse::<u32>().ok().filter(|n| (1..=MOST_DAYS).contains(n));
        number.ok_or_else(|| fill("homecmd.bad_days", &[("word", &word), ("most", &MOST_DAYS)]))
    };
    let said = |name: &'static str, value: &'static str| Arg::new(name).long(name).value_name(value);
    let tags: Vec<&str> = Language::ALL.iter().map(|l| l.tag()).collect();
    Command::new("takehome")
        .about(text("homecmd.about"))
        .after_help(text("homecmd.more"))
        .arg(input("routine", "ROUTINE", text("cli.routine")))
        .arg(output("out", "DIR", text("homecmd.out")).required(true))
        .arg(output("photo", "PHOTO", text("homecmd.photo")))
        .arg(output("answers", "ANSWERS", text("homecmd.answers")))
        .arg(said("name", "NAME").help(text("homecmd.name")))
        .arg(
            said("language", "TAG")
                .value_parser(Language::parse)
                .help(fill("homecmd.language", &[("tags", &tags.join(", "))])),
        )
        .arg(said("paper", "PAPER").default_value("a4").value_parser(paper).help(text("homecmd.paper")))
        .arg(said("start", "DATE").value_parser(date).requires_all(["days", "at", "tz"]).help(text("homecmd.start")))
        .arg(
            said("days", "N")
                .value_parser(days)
                .allow_negative_numbers(true)
                .requires("start")
                .help(fill("homecmd.days", &[("most", &MOST_DAYS)])),
        )
        .arg(
            said("at", "HH:MM")
                .num_args(1..)
                .action(ArgAction::Append)
                .value_parser(at)
                .requires("start")
                .help(fill("homecmd.at", &[("most", &MOST_TIMES)])),
        )
        .arg(said("tz", "ZONE").value_parser(zone).requires("start").help(text("homecmd.tz")))
        .arg(flag("force", text("homecmd.force")))
        // The drawing of the guide by itself, to hold the printed one against.
        .arg(output("drawing", "OUT.svg", text("cli.svg")).hide(true))
        .arg(json())
        .arg(today())
        .arg(atlas())
}

fn captions() -> Command {
    let said = |name: &'static str, value: &'static str| Arg::new(name).long(name).value_name(value);
    let tags: Vec<&str> = Language::ALL.iter().map(|l| l.tag()).collect();
    let on: Vec<&str> = On::ALL.iter().map(|(_, word)| *word).collect();
    let seconds = |word: &str| {
        publish::retime::seconds(word).filter(|s| *s > 0.0).ok_or_else(|| fill("filmcmd.bad_clock", &[("word", &word)]))
    };
    let pace_bounds: [(&str, &dyn std::fmt::Display); 2] =
        [("least", &publish::script::Pace::SLOWEST), ("most", &publish::captions::MOST_RATE)];
    Command::new("captions")
        .about(text("filmcmd.about"))
        .after_help(text("filmcmd.more"))
        .arg(input("routine", "ROUTINE", text("cli.routine")).required(false).required_unless_present("from"))
        .arg(output("out", "DIR", text("filmcmd.out")).required_unless_present("from"))
        .arg(output("from", "FILE", text("recordings.from")).conflicts_with_all([
            "routine", "name", "language", "on", "pace", "count", "quiet", "times", "length", "stills",
        ]))
        .arg(said("name", "NAME").help(text("filmcmd.name")))
        .arg(
            said("language", "TAG")
                .value_parser(Language::parse)
                .help(fill("filmcmd.language", &[("tags", &tags.join(", "))])),
        )
        .arg(
            said("on", "WHOM")
                .value_parser(
                    clap::builder::PossibleValuesParser::new(on).map(|word| On::from_word(&word).unwrap_or_default()),
                )
                .help(text("filmcmd.on")),
        )
        .arg(said("pace", "RATE").value_parser(filming::pace).help(fill("filmcmd.pace", &pace_bounds)))
        .arg(flag("count", text("filmcmd.count")))
        .arg(flag("quiet", text("filmcmd.quiet")))
        .arg(said("concern", "ID").action(ArgAction::Append).help(text("filmcmd.concern")))
        .arg(said("paid", "WHO").help(text("filmcmd.paid")))
        .arg(said("gifted", "WHAT").help(text("filmcmd.gifted")))
        .arg(said("own", "WHAT").action(ArgAction::Append).help(text("filmcmd.own")))
        .arg(said("commission", "LINK").action(ArgAction::Append).help(text("filmcmd.commission")))
        .arg(flag("unpaid", text("filmcmd.unpaid")))
        .arg(output("times", "TIMES.csv", text("filmcmd.times")))
        .arg(said("length", "TIME").value_parser(seconds).requires("times").help(text("filmcmd.length")))
        .arg(
            said("stills", "SIZE")
                .action(ArgAction::Append)
                .value_parser(Size::ALL.map(|(_, word)| word))
                .help(text("filmcmd.stills")),
        )
        .arg(
            said("light", "LIGHT")
                .value_parser(Light::ALL.map(|(_, word)| word))
                .requires("stills")
                .help(text("filmcmd.light")),
        )
        .arg(flag("force", text("filmcmd.force")))
        .arg(json())
        .arg(atlas())
}

fn phantom() -> Command {
    let degrees = |name: &'static str| {
        Arg::new(name)
            .long(name)
            .value_name("DEGREES")
            .allow_negative_numbers(true)
            .value_parser(|word: &str| {
                let number = word.parse::<f64>().ok().filter(|n| n.abs() <= 90.0);
                number.ok_or_else(|| text("cli.bad_degrees").to_owned())
            })
            .help(text("cli.degrees"))
    };
    let tone = |word: &str| Tone::parse(word).ok_or_else(|| text("cli.bad_tone").to_owned());
    let light = |word: &str| setting(word).ok_or_else(|| text("cli.bad_light").to_owned());
    let severity = |word: &str| {
        let number = word.parse::<f64>().ok().filter(|n| (0.0..=4.0).contains(n));
        number.ok_or_else(|| text("cli.bad_severity").to_owned())
    };
    Command::new("phantom")
        .about(text("cli.phantom"))
        .arg(input("out", "OUT", text("cli.phantom_out")))
        .arg(
            Arg::new("seed")
                .long("seed")
                .value_name("N")
                .value_parser(value_parser!(u64))
                .required(true)
                .help(text("cli.seed")),
        )
        .arg(json())
        .arg(flag("plain", text("cli.plain")))
        .arg(flag("eyes-closed", text("cli.eyes_closed")))
        .arg(degrees("yaw"))
        .arg(degrees("pitch"))
        .arg(degrees("roll"))
        .arg(Arg::new("tone").long("tone").value_name("CLASS").value_parser(tone).help(text("cli.phantom_tone")))
        .arg(Arg::new("light").long("light").value_name("LIGHT").value_parser(light).help(text("cli.light")))
        .arg(Arg::new("severity").long("severity").value_name("0..4").value_parser(severity).help(text("cli.severity")))
        .arg(flag("card", text("cli.phantom_card")))
        .arg(
            Arg::new("film")
                .long("film")
                .value_name("FRAMES")
                .value_parser(|word: &str| {
                    let frames = word.parse::<usize>().ok().filter(|n| (1..=256).contains(n));
                    frames.ok_or_else(|| text("film.bad_frames").to_owned())
                })
                .help(text("film.help")),
        )
}

/// The light of an invented photograph.
fn setting(word: &str) -> Option<Setting> {
    Some(match word {
        "d65" => Setting::D65,
        "a" => Setting::A,
        "led" => Setting::Led,
        "window" => Setting::Window,
        "gradient" => Setting::Gradient,
        "side" => Setting::SideWindow,
        _ => return None,
    })
}

fn completions() -> Command {
    Command::new("completions").about(text("cli.completions")).arg(
        Arg::new("shell").value_name("SHELL").required(true).value_parser(value_parser!(Shell)).help(text("cli.shell")),
    )
}

fn flag(name: &'static str, help: &'static str) -> Arg {
    Arg::new(name).long(name).action(ArgAction::SetTrue).help(help)
}

fn json() -> Arg {
    flag("json", text("cli.json"))
}

fn input(name: &'static str, value: &'static str, help: &'static str) -> Arg {
    Arg::new(name).value_name(value).required(true).value_parser(value_parser!(PathBuf)).help(help)
}

fn output(name: &'static str, value: &'static str, help: &'static str) -> Arg {
    Arg::new(name).long(name).value_name(value).value_parser(value_parser!(PathBuf)).help(help)
}

fn today() -> Arg {
    let parse = |word: &str| Date::parse(word).ok_or_else(|| fill("cli.bad_date", &[("word", &word)]));
    Arg::new("today").long("today").value_name("DATE").value_parser(parse).help(text("cli.today"))
}

fn atlas() -> Arg {
    Arg::new("atlas")
        .long("atlas")
        .value_name("FILE")
        .action(ArgAction::Append)
        .value_parser(value_parser!(PathBuf))
        .help(text("cli.atlas"))
}

/// Reads the arguments; help and version are answers, anything wrong is unusable.
pub fn matches(args: impl IntoIterator<Item = OsString>) -> Result<ArgMatches, Outcome> {
    command().try_get_matches_from(args).map_err(|error| {
        let said = error.render().to_string();
        if error.use_stderr() {
            Outcome { out: String::new(), err: said, code: Code::Unusable }
        } else {
            Outcome::done(said)
        }
    })
}
