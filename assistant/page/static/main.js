// Everything here is a help: without it the page still asks, answers and shows what to do.
import { asks } from "./ask.js";
import { away } from "./away.js";
import { colours } from "./colours.js";
import { copies } from "./copy.js";
import { hears } from "./listen.js";
import { listens } from "./live.js";
import { speaks } from "./speak.js";
import { unsents } from "./unsent.js";
import { wrong } from "./wrong.js";

wrong();
colours();
copies();
unsents();
asks();
speaks();
hears();
away();
listens();
