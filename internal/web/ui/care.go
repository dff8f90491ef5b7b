package ui

const PageFood = "/food"

// CarePage is a page that answers a question of the keeper: the answer comes
// first, in one sentence, then the working.
type CarePage struct {
	Page
	Place    string // the tank and school, or ""
	Links    []CareLink
	Answer   *CareAnswer
	Problems Problems
	Parts    []CarePart
}

// CareLink leads to another page of the tank.
type CareLink struct {
	Href, Label string
	Here        bool
}

// CareAnswer is the answer in one sentence, and what to know about it.
type CareAnswer struct {
	Headline string
	Urgent   bool
	Lines    []string
	Cautions []string
}

// CarePart is one part of such a page. What is empty is left out.
type CarePart struct {
	ID, Title string
	Lines     []string
	Steps     []string // in order
	Facts     []Fact
	Bars      *FoodBars
	Table     *DataTable
	Fold      string // what the table is folded under, if it is
	Answer    *CareAnswer
	Cautions  []string
	Form      *CareForm
	Sources   []string
	Links     []CareLink
	Tiles     bool // the links are what the page is for: large, for a hurry
}

// CareForm asks by GET, or stores by POST.
type CareForm struct {
	Method, Action, Submit string
	Hidden                 []Option
	Items                  []FormItem
	Problems               Problems
}
