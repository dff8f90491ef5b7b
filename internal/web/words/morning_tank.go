package words

// RuleCheckMissing is the rule of a check that was not made.
const RuleCheckMissing = "check_missing"
