package report
import ("os";"testing")
func TestView(t *testing.T){
 for _,s:=range scenes(t){ d:=s.document(t); os.WriteFile("/tmp/view/"+s.name+".svg",MapSVG(d),0o644); os.WriteFile("/tmp/view/"+s.name+".txt",Summary(d,d.Units),0o644)}
 d:=smallDocument(t,"us"); os.WriteFile("/tmp/view/small.svg",MapSVG(d),0o644); os.WriteFile("/tmp/view/small.txt",Summary(d,"us"),0o644)
}
