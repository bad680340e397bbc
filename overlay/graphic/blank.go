package graphic

// No theme draws it.
var blank = Graphic{Name: "blank", About: "nothing at all", OnAir: true, Least: smallest}
