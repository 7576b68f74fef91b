pub fn html(_: &crate::flow::Outcome) -> String {
    String::new()
}
