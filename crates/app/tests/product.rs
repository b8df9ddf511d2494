//! The product check over real HTTP and on the command line.

mod house;

use house::{DAY, Desk, Folder, example, run, run_with};

fn has(body: &str, part: &str) {
    assert!(body.contains(part), "the page lacks {part:?}:\n{body}");
}

fn lacks(body: &str, part: &str) {
    assert!(!body.contains(part), "the page has {part:?}:\n{body}");
}

fn leads_to(answer: &house::Answer) -> String {
    assert_eq!(answer.status, 303, "{}\n{}", answer.head, answer.body);
    answer.head.lines().find_map(|l| l.strip_prefix("location: ")).expect("an address").trim().to_owned()
}

const NO: &str = "group.today=no&group.heart_and_neck=no&group.eyes=no&group.long_term=no";
const LIST: &str = "list=Aqua%2C+Tea+Tree+Oil+%282+%25%29%2C+Limonene%2C+Glycerin";

#[test]
fn a_list_is_read_for_nobody_in_particular() {
    let desk = Desk::inside();
    let page = desk.get("/product");
    assert_eq!(page.status, 200);
    has(&page.body, "It is not said for whom");
    assert_eq!(page.body.matches("class=\"go\"").count(), 1, "one blue action");
    let answer = desk.post("/product", &format!("{LIST}&product=Evening+oil+%3Cb%3E"));
    assert_eq!(answer.status, 200);
    has(&answer.body, "What the list of Evening oil &lt;b&gt; says");
    has(&answer.body, "Leave this product out.");
    has(&answer.body, "2 % is written; on the face no more than 0.5 %.");
    has(&answer.body, "<li>Glycerin</li>");
    has(&answer.body, "was not judged");
    has(&answer.body, "this is no promise");
    has(&answer.body, "Are you allergic to an oil");
    // What was typed stands in the form.
    has(&answer.body, "Aqua, Tea Tree Oil (2 %), Limonene, Glycerin</textarea>");
    has(&answer.body, "value=\"Evening oil &lt;b&gt;\"");
}

#[test]
fn what_a_client_answered_is_read_with_it() {
    let desk = Desk::inside();
    let client = leads_to(&desk.post("/clients/new", "name=Ana+Example&hands=both"));
    let id = client.rsplit('/').next().expect("a number").to_owned();
    // Without consent to care nothing is read with them.
    assert_eq!(desk.get(&format!("/product?client={id}")).status, 409);
    leads_to(&desk.post(&format!("{client}/consent"), "kind=care&given=yes"));
    has(&desk.get(&client).body, &format!("href=\"/product?client={id}\""));
    has(&desk.get(&format!("/product?client={id}")).body, "A product for Ana Example");
    let never = desk.post("/product", &format!("client={id}&list=Limonene")).body;
    has(&never, "has not been asked");
    has(&never, "Ask first.");
    leads_to(&desk.post(&format!("{client}/intake"), &format!("{NO}&group.skin_and_face=no")));
    let calm = desk.post("/product", &format!("client={id}&list=Limonene")).body;
    has(&calm, "Go gently");
    lacks(&calm, "Are you allergic");
    leads_to(&desk.post(
        &format!("{client}/intake"),
        &format!("{NO}&group.skin_and_face=yes&rest.skin_and_face=no&own.allergy=yes"),
    ));
    let allergic = desk.post("/product", &format!("client={id}&list=Aqua%2C+Limonene")).body;
    has(&allergic, "Leave this product out.");
    has(&allergic, "It applies: allergy to oils or scents.");
    has(&allergic, "On the list: Limonene.");
    has(&desk.post("/product", &format!("client={id}&list=Aqua%2C+Glycerin")).body, "Nothing of the table was found.");
    assert_eq!(desk.get("/product?client=77").status, 404);
    assert_eq!(desk.get("/product?client=x").status, 404);
}

#[test]
fn what_can_not_be_read_says_so_and_loses_nothing() {
    let desk = Desk::inside();
    let empty = desk.post("/product", "list=+123+%2C+%25&product=Balm");
    assert_eq!(empty.status, 422);
    has(&empty.body, "There is no name in the list yet");
    has(&empty.body, "value=\"Balm\"");
    let long = format!("{}the+end", "a%2C".repeat(10_001));
    let answer = desk.post("/product", &format!("list={long}"));
    assert_eq!(answer.status, 422);
    has(&answer.body, "The list has 20009 characters; at most 20000 are read.");
    has(&answer.body, "the end</textarea>");
    let named = desk.post("/product", &format!("list=Limonene&product={}", "n".repeat(121)));
    assert_eq!(named.status, 422);
    has(&named.body, "Limonene</textarea>");
    // Behind the door.
    desk.post("/lock", "");
    assert!(leads_to(&desk.get("/product")).starts_with("/unlock"));
}

#[test]
fn the_command_reads_files_and_says_what_is_wrong() {
    let folder = Folder::new("product");
    let file = folder.write("list.txt", "Ingredients: Aqua, Tea Tree Oil, Limonene, Glycerin");
    let said = run(&["product", &file]);
    assert_eq!((said.code, said.err.as_str()), (0, ""));
    has(&said.out, "Ask first.");
    has(&said.out, "Not judged\n  Aqua; Glycerin");
    let full = example("answers_full.toml");
    let json = run(&["product", &file, "--answers", &full, "--today", DAY, "--json"]).json();
    assert_eq!(json["class"], "ask_first");
    assert_eq!(json["names"], 4);
    assert_eq!(json["found"][0]["ingredient"], "Melaleuca Alternifolia Leaf Oil");
    assert_eq!(json["found"][0]["limit"], "share_not_written");
    assert_eq!(json["found"][1]["class"], "gently");
    assert_eq!(json["not_judged"], serde_json::json!(["Aqua", "Glycerin"]));
    assert_eq!(json["ask"], serde_json::json!([]));
    for (args, stdin, part) in [
        (vec!["product", "-"], "1, 2, %".to_owned(), "no name in it"),
        (vec!["product", "-"], "a,".repeat(10_001), "at most 20000"),
        (vec!["product", "nowhere.txt"], String::new(), "nowhere.txt"),
        (vec!["product", &file, "--answers", &file], String::new(), "list.txt:1"),
    ] {
        let said = run_with(&args, stdin.as_bytes());
        assert_eq!(said.code, 2, "{args:?}");
        has(&said.err, part);
        assert_eq!(said.out, "");
    }
}
