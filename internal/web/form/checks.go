package form

// FormKey is the idempotency key of a form: ours, or nothing.
func FormKey(key string) string {
	if len(key) != 26 {
		return ""
	}
	return key
}
